"""Pictures that riders add: private, re-encoded, and gone with the row."""

import secrets

from django.core.files.storage import Storage, storages
from django.db import models, transaction
from django.db.models.signals import post_delete
from django.dispatch import receiver
from django.utils.translation import gettext_lazy as _

from intake.models.previsit import PreVisitCheck


def photo_storage() -> Storage:
    """Return where photos lie; the setting ``STORAGES["photos"]`` names it."""
    return storages["photos"]


def photo_name(photo: models.Model, filename: str) -> str:
    """Return an unguessable name that tells nothing about the rider, nor what they called the file."""
    name = secrets.token_hex(16)
    return f"{name[:2]}/{name}.jpg"


class Photo(models.Model):
    """A picture as it was written anew: JPEG without metadata, never the file that was sent."""

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="photos", verbose_name=_("pre-visit check")
    )
    image = models.FileField(_("picture"), storage=photo_storage, upload_to=photo_name, max_length=100)
    width_px = models.PositiveIntegerField(_("width (px)"))
    height_px = models.PositiveIntegerField(_("height (px)"))
    size_bytes = models.PositiveIntegerField(_("size (bytes)"))
    digest = models.CharField(_("SHA-256"), max_length=64)
    added_at = models.DateTimeField(_("added"), auto_now_add=True)

    class Meta:
        verbose_name = _("photo")
        verbose_name_plural = _("photos")
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["pre_visit", "digest"], name="photo_once_per_check"),
            models.CheckConstraint(
                condition=models.Q(width_px__gt=0, height_px__gt=0, size_bytes__gt=0), name="photo_shows_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.width_px} × {self.height_px} px"


@receiver(post_delete, sender=Photo)
def delete_file(instance: Photo, **_kwargs: object) -> None:
    """Delete the picture with its row, once the row is gone for good."""
    storage, name = instance.image.storage, instance.image.name
    transaction.on_commit(lambda: storage.delete(name), robust=True)
