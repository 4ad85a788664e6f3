# make run     set up and open the portal with the demo club on http://localhost:8000
# make test    set up and run every test, random-heavy ones with reduced counts
# make soak    the same with the full counts
# make check   formatters, linters, types, floors, migrations
# make bench   speeds as ratios to a limit, in build/bench.json
# make lock    write the lock files anew from pyproject.toml

PYTHON ?= python3
BIN := .venv/bin
# A file's tests stay together: they share what they built.
BOTH_CORES := -n 2 --dist loadfile
DEMO := FLAGLINE_DEMO=1 FLAGLINE_DATA=.data/demo

.PHONY: run test soak check bench lock

run: .venv/for-run
	@$(DEMO) $(BIN)/python manage.py demo
	@$(DEMO) exec $(BIN)/python manage.py serve

test: .venv/for-test
	$(BIN)/pytest $(BOTH_CORES)
	$(BIN)/python -m tests.production

soak: .venv/for-test
	mkdir -p build
	FLAGLINE_SOAK=1 $(BIN)/pytest $(BOTH_CORES)
	FLAGLINE_SOAK=1 $(BIN)/python -m tests.production

check: .venv/for-test
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/lint-imports
	$(BIN)/mypy portal tests manage.py
	git ls-files -z --cached --others --exclude-standard 'templates/*.html' 'templates/**/*.html' | xargs -0 $(BIN)/djade --target-version 5.2 --check
	$(BIN)/djlint --lint --quiet templates
	$(BIN)/python manage.py makemigrations --check --dry-run
	$(BIN)/pytest -q tests/test_house.py tests/test_access.py

bench: .venv/for-test
	mkdir -p build
	$(BIN)/python -m tests.bench

lock:
	$(BIN)/python -m pip install --quiet uv
	$(BIN)/uv pip compile pyproject.toml --group test --group check --generate-hashes --no-emit-index-url --no-header -q -o requirements-dev.lock
	$(BIN)/uv pip compile pyproject.toml --generate-hashes --no-emit-index-url --no-header -c requirements-dev.lock -q -o requirements.lock

.venv/for-run: requirements.lock
	@deploy/packages.sh run
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Flagline needs Python 3.11 or newer; say which with make $@ PYTHON=..."; exit 1; }
	@test -x $(BIN)/python || $(PYTHON) -m venv .venv
	@echo "Installing the libraries into .venv"
	@$(BIN)/python -m pip install --quiet --require-hashes -r requirements.lock
	@touch $@

.venv/for-test: requirements-dev.lock
	@deploy/packages.sh run
	@deploy/packages.sh test
	@test -x $(BIN)/python || $(PYTHON) -m venv .venv
	@echo "Installing the libraries and the tools into .venv"
	@$(BIN)/python -m pip install --quiet --require-hashes -r requirements-dev.lock
	@touch $@
