"""Static files under hashed names, ES modules' imports of each other included."""

from __future__ import annotations

from django.contrib.staticfiles.storage import HashedFilesMixin
from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedModulesStorage(CompressedManifestStaticFilesStorage):
    """Rewrites imports in our own modules only.

    Switching Django's module support on for all files fails on an import that stands in a
    comment of a library's file, hence the narrower pattern.
    """

    patterns = (
        *HashedFilesMixin.patterns,
        ("js/*.js", HashedFilesMixin._js_module_import_aggregation_patterns[1]),  # type: ignore[attr-defined]
    )
