"""The journal for gunicorn, which sets up its own log before the portal is loaded.

It writes no line for a request: the journal's own has one, without what the address holds.
"""

from __future__ import annotations

from gunicorn.config import Config
from gunicorn.glogging import Logger

from portal.kit.journal import JsonLines


class WebJournal(Logger):
    def setup(self, cfg: Config) -> None:
        super().setup(cfg)  # type: ignore[no-untyped-call]
        for handler in self.error_log.handlers:
            handler.setFormatter(JsonLines())
