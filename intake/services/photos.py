"""Pictures that riders send: read with care, written anew, kept in private."""

import warnings
from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256
from io import BytesIO

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from PIL import Image, ImageOps
from pillow_heif import register_heif_opener

from intake.models import Photo, PreVisitCheck
from intake.models.photos import photo_storage

register_heif_opener(thumbnails=False)

FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
LARGEST_BYTES = 15_000_000
MOST_PIXELS = 60_000_000
LONG_SIDE_PX = 2000
QUALITY = 82
MOST_PHOTOS = 40
ORPHAN_AFTER = timedelta(days=1)


class NotAPictureError(Exception):
    """A file that is no picture of a known kind, or is damaged."""


class TooManyPixelsError(Exception):
    """A picture that would fill the memory."""


class TooManyPhotosError(Exception):
    """A check that holds as many photos as anybody needs."""


@dataclass(frozen=True)
class Picture:
    """A picture written anew: JPEG, upright, without anything but its pixels."""

    content: bytes
    width_px: int
    height_px: int

    @property
    def digest(self) -> str:
        """Return what tells it from other pictures."""
        return sha256(self.content).hexdigest()


def rewritten(content: bytes) -> Picture:
    """Return a picture read from a file's bytes and written anew, at most 2000 px long; of a moving one the first frame.

    Nothing of the file itself is kept: no place, no camera, no second file hidden behind the first. Raises NotAPictureError,
    TooManyPixelsError.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what a reader finds odd about a file is no trouble of ours
            return _written(content)
    except (TooManyPixelsError, Image.DecompressionBombError):
        raise TooManyPixelsError from None
    except Exception as fault:  # the readers of four formats fail on damaged files in more ways than they name
        raise NotAPictureError from fault


def _written(content: bytes) -> Picture:
    with Image.open(BytesIO(content), formats=FORMATS) as image:
        if image.width * image.height > MOST_PIXELS:
            raise TooManyPixelsError
        image.draft("RGB", (LONG_SIDE_PX, LONG_SIDE_PX))
        upright = ImageOps.exif_transpose(image)
        upright.thumbnail((LONG_SIDE_PX, LONG_SIDE_PX))
        flat = _on_white(upright)
    out = BytesIO()
    flat.save(out, "JPEG", quality=QUALITY, optimize=True)
    return Picture(out.getvalue(), flat.width, flat.height)


def _on_white(image: Image.Image) -> Image.Image:
    if not image.has_transparency_data:
        return Image.merge("RGB", image.convert("RGB").split())
    clear = image.convert("RGBA")
    white = Image.new("RGB", clear.size, "white")
    white.paste(clear, mask=clear.getchannel("A"))
    return white


@transaction.atomic
def keep_photo(*, pre_visit: PreVisitCheck, picture: Picture) -> Photo:
    """Keep a picture; the same one of the same check is kept once. Raises TooManyPhotosError.

    Where the transaction around it fails, the file stays behind without a row, and `forget_orphans` takes it away.
    """
    kept = Photo.objects.filter(pre_visit=pre_visit)
    if same := kept.filter(digest=picture.digest).first():
        return same
    if kept.count() >= MOST_PHOTOS:
        raise TooManyPhotosError
    photo = Photo(
        pre_visit=pre_visit,
        width_px=picture.width_px,
        height_px=picture.height_px,
        size_bytes=len(picture.content),
        digest=picture.digest,
    )
    photo.image.save("photo.jpg", ContentFile(picture.content), save=False)
    try:
        photo.save()
    except BaseException:
        photo.image.storage.delete(photo.image.name)
        raise
    return photo


def forget_orphans() -> int:
    """Delete files that no row names, a day after they were written; return how many."""
    storage, before = photo_storage(), timezone.now() - ORPHAN_AFTER
    known, gone = set(Photo.objects.values_list("image", flat=True)), 0
    try:
        folders, _files = storage.listdir("")
    except FileNotFoundError:
        return 0
    for folder in folders:
        for name in storage.listdir(folder)[1]:
            path = f"{folder}/{name}"
            if path not in known and storage.get_modified_time(path) < before:
                storage.delete(path)
                gone += 1
    return gone
