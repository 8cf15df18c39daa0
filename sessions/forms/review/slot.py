"""What the desk sends when it decides about the slot, and the mail that goes with it."""

from collections.abc import Iterable
from datetime import datetime

from django import forms
from django.utils.translation import gettext_lazy as _

from sessions.forms.fields import StartField
from sessions.forms.starts import StartMixin
from sessions.selectors.review.slot_options import Extension
from sessions.services.booking.errors import DiaryRefusal
from sessions.services.review.slot_decisions import Letter

LONGEST_BODY = 10_000
LONGEST_EXTENSION_MIN = 600
OUT_OF_DATE = _("This page had been open for too long. Look at it as it is now.")


class SlotForm(forms.Form):
    """A decision about the slot as it was shown: ``basis`` names it, so that a page left open decides nothing new."""

    mark_optional = False
    basis = forms.RegexField(
        regex=r"^\d{1,9}\.\d{1,19}$",
        max_length=30,
        widget=forms.HiddenInput,
        error_messages=dict.fromkeys(("required", "invalid", "max_length"), OUT_OF_DATE),
    )

    def decision(self) -> dict[str, object]:
        """Return what a valid form decides, as the services take it."""
        return {"basis": self.cleaned_data["basis"]}

    def refuse(self, refusal: Exception) -> None:
        """Say why the decision did not go through."""
        self.add_error(None, str(refusal))

    def renew(self, basis: str) -> None:
        """Let the form, shown again with its errors, stand for the slot as it is now."""
        self.data = self.data.copy()
        self.data["basis"] = basis


class TextField(forms.CharField):
    """Paragraphs for a mail, with plain line ends."""

    def __init__(self, **kwargs: object) -> None:
        """Take as much as one reads."""
        super().__init__(
            max_length=LONGEST_BODY, widget=forms.Textarea(attrs={"rows": 16, "class": "letter"}), **kwargs
        )

    def to_python(self, value: object) -> str:
        """Return the text with line feeds alone."""
        return super().to_python(value).replace("\r\n", "\n").replace("\r", "\n")


class LetterForm(SlotForm):
    """A mail to the rider, as the fitter has edited it."""

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


class ChangeForm(SlotForm):
    """A change of the slot, with what stands at the top of the mail that it sends in any case."""

    message = TextField(
        label=_("What you say first"),
        required=False,
        help_text=_("Below it the mail gives the new time, the calendar file and the private page by itself."),
    )

    def decision(self) -> dict[str, object]:
        """Add what was said and what was chosen."""
        chosen = {name: value for name, value in self.cleaned_data.items() if name != "message"}
        return chosen | {"message": self.cleaned_data["message"].strip()}


class ExtendForm(ChangeForm):
    """How much longer the session is to be."""

    extra_min = forms.IntegerField(
        label=_("Minutes more, and the chance to run to plan with them"),
        min_value=5,
        max_value=LONGEST_EXTENSION_MIN,
        widget=forms.RadioSelect,
        error_messages={
            "required": _("Choose how many minutes."),
            **dict.fromkeys(("invalid", "min_value", "max_value"), _("Choose one of the lengths on the page.")),
        },
    )

    def refuse(self, refusal: Exception) -> None:
        """Put what the diary said beside the minutes."""
        self.add_error("extra_min" if isinstance(refusal, DiaryRefusal) else None, str(refusal))

    def offer(self, extensions: Iterable[Extension]) -> None:
        """Let one of these be chosen."""
        self.fields["extra_min"].widget.choices = [
            (each.extra_min, _("%(minutes)d minutes: %(chance)s") % {"minutes": each.extra_min, "chance": each.chance})
            for each in extensions
        ]


class MoveForm(StartMixin, ChangeForm):
    """The start to which the session is to move."""

    start = StartField(label=_("Start"))
    wanted: datetime | None = None

    def refuse(self, refusal: Exception) -> None:
        """Put what the diary said beside the start, which then has to be chosen anew."""
        self.wanted = self.cleaned_data.get("start")
        self.add_error("start" if isinstance(refusal, DiaryRefusal) else None, str(refusal))
