"""The private link by which a rider, who has no account, reaches their own pages."""

import secrets

from django.db import models
from django.urls import reverse
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _

from intake.models.previsit import PreVisitCheck

SALT = "intake.rider-link"


def new_key() -> str:
    """Return 96 random bits as text that is safe in an address."""
    return secrets.token_urlsafe(12)


class RiderLink(models.Model):
    """An unguessable, revocable address. The signature is not stored, so the database alone opens nobody's pages."""

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="links", verbose_name=_("pre-visit check")
    )
    key = models.CharField(_("key"), max_length=32, unique=True, default=new_key, editable=False)
    created_at = models.DateTimeField(_("created"), auto_now_add=True)
    expires_at = models.DateTimeField(_("expires"))
    revoked_at = models.DateTimeField(_("revoked"), null=True, blank=True)

    class Meta:
        verbose_name = _("rider's link")
        verbose_name_plural = _("riders' links")
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.pre_visit} ({self.created_at:%Y-%m-%d})"

    def get_absolute_url(self) -> str:
        """Return the rider's home page."""
        return reverse("rider:home", args=[self.token])

    @staticmethod
    def signature_of(key: str) -> str:
        """Return the part of the token that only this installation can make."""
        return salted_hmac(SALT, key, algorithm="sha256").hexdigest()[:24]

    @property
    def token(self) -> str:
        """Return what stands in the address."""
        return f"{self.key}.{self.signature_of(self.key)}"

    @property
    def is_open(self) -> bool:
        """Whether the link opens pages now."""
        return self.revoked_at is None and timezone.now() < self.expires_at
