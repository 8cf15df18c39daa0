"""What the desk sends to ask a rider for a few answers, or to offer another service."""

from django import forms
from django.utils.translation import gettext_lazy as _

from sessions.forms.review.slot import OUT_OF_DATE, TextField
from sessions.services.review.slot_decisions import Letter


class FewForm(forms.Form):
    """The questions that the page showed: ``seen`` names the latest request that it knew, 0 for none."""

    mark_optional = False
    keys = forms.CharField(
        max_length=1000,
        widget=forms.HiddenInput,
        error_messages=dict.fromkeys(("required", "max_length"), OUT_OF_DATE),
    )
    seen = forms.RegexField(
        regex=r"^\d{1,18}$",
        widget=forms.HiddenInput,
        error_messages=dict.fromkeys(("required", "invalid"), OUT_OF_DATE),
    )

    def decision(self) -> dict[str, object]:
        """Return what a valid form asks for, as the service takes it."""
        return {"keys": self.cleaned_data["keys"].split(), "seen": int(self.cleaned_data["seen"])}


class OfferForm(forms.Form):
    """The wish to send the usual letter, nothing else."""

    def decision(self) -> dict[str, object]:
        """Return nothing more."""
        return {}


class LetterFields(forms.Form):
    """A mail to the rider, as the fitter has edited it."""

    mark_optional = False
    subject = forms.CharField(
        label=_("Subject"),
        max_length=250,
        widget=forms.TextInput(attrs={"class": "wide"}),
        error_messages={"required": _("Give the mail a subject.")},
    )
    body = TextField(label=_("Text"), error_messages={"required": _("Write something, or go back without a mail.")})

    def decision(self) -> dict[str, object]:
        """Add the mail; a subject is one line."""
        subject = " ".join(self.cleaned_data["subject"].split())
        return super().decision() | {"letter": Letter(subject, self.cleaned_data["body"])}


class FewLetterForm(LetterFields, FewForm):
    """The questions with an edited mail."""

    field_order = ["subject", "body"]


class OfferLetterForm(LetterFields, OfferForm):
    """The offer with an edited mail."""
