"""One file in one form: read into memory up to a limit, never under a name that the sender chose."""

from collections.abc import Callable
from functools import wraps
from io import BytesIO

from django.core.files.uploadedfile import InMemoryUploadedFile
from django.core.files.uploadhandler import FileUploadHandler, SkipFile
from django.http import HttpRequest, HttpResponse
from django.views.decorators.csrf import csrf_exempt, csrf_protect

from intake.services.photos import LARGEST_BYTES

FIELD = "photo"
View = Callable[..., HttpResponse]


class OnePhoto(FileUploadHandler):
    """Keeps the first file of the field ``photo``, and of that no more than shows that it is too large."""

    taken = False

    def new_file(self, *args: object, **kwargs: object) -> None:
        """Leave out what the form does not ask for."""
        super().new_file(*args, **kwargs)
        if self.taken or self.field_name != FIELD:
            raise SkipFile
        self.taken, self.content, self.size = True, BytesIO(), 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Keep a piece; beyond the limit only count."""
        self.size += len(raw_data)
        if self.size <= LARGEST_BYTES:
            self.content.write(raw_data)

    def file_complete(self, file_size: int) -> InMemoryUploadedFile:
        """Return the file with its true size."""
        self.content.seek(0)
        return InMemoryUploadedFile(self.content, FIELD, "photo", self.content_type, self.size, None)


def takes_a_photo(view: View) -> View:
    """Let a page's form hold one photo; every other page refuses files unread.

    The protection against forged forms reads the form, which settles how files are read: so it stands inside.
    """
    protected = csrf_protect(view)

    @csrf_exempt
    @wraps(view)
    def taking(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        request.upload_handlers = [OnePhoto(request)]
        return protected(request, *args, **kwargs)

    return taking
