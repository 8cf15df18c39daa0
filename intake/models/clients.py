"""Riders, as the studio knows them."""

from typing import Any

from django.db import models
from django.db.models.functions import Trim
from django.utils.translation import gettext_lazy as _
from phonenumber_field.modelfields import PhoneNumberField

from intake.folding import digits, fold

SEARCHED = frozenset({"name", "latin_name", "email", "phone"})


class LengthUnit(models.TextChoices):
    """The unit in which a person reads and types lengths."""

    MILLIMETRE = "mm", _("millimetres")
    INCH = "in", _("inches")


class Client(models.Model):
    """A rider. Any human name is a name; the Latin form is printed beside one that a font may not cover."""

    name = models.CharField(_("name"), max_length=200)
    latin_name = models.CharField(_("name in Latin letters"), max_length=200, blank=True)
    email = models.EmailField(_("e-mail"), max_length=254)
    phone = PhoneNumberField(_("telephone"), blank=True)
    length_unit = models.CharField(_("lengths in"), max_length=2, choices=LengthUnit, default=LengthUnit.MILLIMETRE)
    notes = models.TextField(_("notes"), blank=True)
    created_at = models.DateTimeField(_("created"), auto_now_add=True)
    search_text = models.TextField(_("as searched"), blank=True, editable=False)

    class Meta:
        verbose_name = _("client")
        verbose_name_plural = _("clients")
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="client_name_given"),
            models.CheckConstraint(condition=models.Q(name=Trim("name")), name="client_name_trimmed"),
            models.CheckConstraint(condition=~models.Q(email=""), name="client_email_given"),
            models.CheckConstraint(condition=models.Q(length_unit__in=LengthUnit.values), name="client_unit_known"),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep what the search looks at in step with what is saved, and with nothing that may have changed elsewhere."""
        fields = kwargs.get("update_fields")
        if fields is None or SEARCHED.intersection(fields):
            self.search_text = searchable(self)
            kwargs |= {} if fields is None else {"update_fields": {*fields, "search_text"}}
        super().save(*args, **kwargs)


def searchable(client: Client) -> str:
    """Return all that a client can be found by: names, e-mail, telephone with and without the country code."""
    known = client.phone and client.phone.country_code
    phone = [digits(client.phone.as_e164), digits(client.phone.as_national)] if known else []
    return " ".join([fold(client.name), fold(client.latin_name), fold(client.email), *phone])
