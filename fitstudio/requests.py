"""What no page of the product reads: text in another encoding than UTF-8, and files."""

import codecs
from collections.abc import Callable
from typing import Any, NoReturn

from django.core.exceptions import BadRequest
from django.core.files.uploadhandler import FileUploadHandler
from django.http import HttpRequest, HttpResponse


class OnlyUtf8:
    """Middleware that refuses a request which says that its text is in another encoding.

    Django believes it, and codecs such as ``unicode_escape`` make signs of plain letters that no database can store.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        """Keep the next step."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Hand the request on, or answer 400."""
        if request.encoding is not None and codecs.lookup(request.encoding).name != "utf-8":
            raise BadRequest("Text must be in UTF-8.")
        return self.get_response(request)


class NoFiles(FileUploadHandler):
    """Refuses an upload before a byte of it is kept: no form of the product holds a file."""

    def new_file(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Answer 400."""
        raise BadRequest("No page takes a file.")

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Nothing gets this far."""

    def file_complete(self, file_size: int) -> None:
        """Nothing gets this far."""
