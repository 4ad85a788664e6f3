#!/bin/sh
# Installs the Debian or Ubuntu packages that the portal needs beside its Python libraries.
#   deploy/packages.sh run    what serving needs: Python's venv, and Pango to set sheets in PDF
#   deploy/packages.sh test   what the tests need besides: browsers, servers, node
# Root installs at once, others through sudo; without either it prints the line to type.
set -u

case "${1:-}" in
run) wanted="python3-venv libpango-1.0-0 libpangoft2-1.0-0" ;;
test) wanted="chromium firefox-esr webkit2gtk-driver xvfb postgresql redis-server nginx nodejs" ;;
*)
    echo "usage: deploy/packages.sh run|test" >&2
    exit 2
    ;;
esac

has() {
    case "$1" in
    # Another Python than Debian's brings its own venv, and a node from elsewhere will do.
    python3-venv) python3 -c 'import venv, ensurepip' 2>/dev/null ;;
    chromium) [ -x /usr/bin/chromium ] ;;
    webkit2gtk-driver) command -v WebKitWebDriver >/dev/null ;;
    xvfb) command -v Xvfb >/dev/null ;;
    nodejs) command -v node >/dev/null ;;
    nginx) [ -x /usr/sbin/nginx ] ;;
    redis-server) command -v redis-server >/dev/null ;;
    postgresql) ls /usr/lib/postgresql/*/bin/postgres >/dev/null 2>&1 ;;
    *) dpkg -s "$1" >/dev/null 2>&1 ;;
    esac
}

missing=""
for package in $wanted; do
    has "$package" || missing="$missing $package"
done
[ -z "$missing" ] && exit 0

install="apt-get install -y --no-install-recommends$missing"
if ! command -v apt-get >/dev/null; then
    echo "This machine has no apt-get. Please install by your system's own means:$missing" >&2
elif [ "$(id -u)" = 0 ]; then
    echo "Installing with apt-get:$missing"
    { apt-get update -q && DEBIAN_FRONTEND=noninteractive $install; } >&2 && exit 0
elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then
    echo "Installing with sudo apt-get:$missing"
    { sudo apt-get update -q && sudo DEBIAN_FRONTEND=noninteractive $install; } >&2 && exit 0
else
    echo "Some system packages are missing. Please type:" >&2
    echo "    sudo apt-get update && sudo $install" >&2
fi

if [ "$1" = run ] && has python3-venv; then
    echo "Going on without them: everything works but sheets in PDF." >&2
    exit 0
fi
exit 1
