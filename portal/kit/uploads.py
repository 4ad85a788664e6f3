"""Files in forms, which only the page that takes films wants."""

from __future__ import annotations

from typing import Any, NoReturn

from django.core.files.uploadhandler import FileUploadHandler, StopUpload


class NoFiles(FileUploadHandler):
    """Reads no further when a form brings a file.

    The check against forgery reads a form before its page has looked at who sends it, and would
    store a file of any size for anybody. A page that wants files sets a handler of its own.
    """

    def new_file(self, *_args: Any, **_facts: Any) -> NoReturn:  # noqa: ANN401 - its signature
        raise StopUpload(connection_reset=True)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:  # noqa: ARG002 - never asked
        return raw_data

    def file_complete(self, file_size: int) -> None:  # noqa: ARG002 - never asked
        return None
