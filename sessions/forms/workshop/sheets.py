"""What makes a job sheet: its lines, its workshop, a note, and what the rider shares."""

from collections.abc import Iterable

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.edge.people import LineField, NameField, validate_no_address
from intake.models import JobSheet, Workshop
from sessions.forms.keyed import KeyedForm
from sessions.forms.review.slot import TextField
from sessions.selectors.workshop.drafts import JobDraft
from sessions.services.workshop.mail import Letter
from sessions.services.workshop.sheets import Recipient, Shared

OTHER = "other"
TOO_LONG = gettext_lazy("Shorten this to %(limit_value)d characters; it has %(show_value)d.")


class SheetForm(KeyedForm):
    """A new job sheet. What is offered comes from the triage and from the studio's list of workshops."""

    lines = forms.MultipleChoiceField(
        label=gettext_lazy("What the workshop should put right"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": gettext_lazy("Choose at least one thing for the workshop."),
            "invalid_choice": gettext_lazy("Some of what was chosen is not among the findings any more."),
        },
    )
    workshop = forms.ChoiceField(
        label=gettext_lazy("Workshop"),
        widget=forms.RadioSelect,
        error_messages={
            "required": gettext_lazy("Choose a workshop, or “another workshop” and name it below."),
            "invalid_choice": gettext_lazy("That workshop is no longer in the list. Choose another."),
        },
    )
    other_name = NameField(
        label=gettext_lazy("Name of another workshop"),
        required=False,
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"max_length": TOO_LONG},
    )
    other_email = forms.EmailField(
        label=gettext_lazy("Its e-mail"),
        required=False,
        max_length=254,
        widget=forms.TextInput(attrs={"autocomplete": "off", "inputmode": "email"}),
        help_text=gettext_lazy("Only if the sheet is to be mailed there."),
        error_messages={
            "invalid": gettext_lazy("Enter an e-mail address such as name@workshop.example, or leave it empty."),
            "max_length": TOO_LONG,
        },
    )
    note = LineField(
        label=gettext_lazy("Note for the workshop"),
        required=False,
        max_length=500,
        validators=[validate_no_address],
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"max_length": TOO_LONG},
    )

    def __init__(
        self, *args: object, drafts: Iterable[JobDraft], workshops: Iterable[Workshop], **kwargs: object
    ) -> None:
        """Offer these lines, those that a workshop should get ticked already, and these workshops."""
        found = list(drafts)
        suggested = [draft.finding_key for draft in found if draft.suggested]
        kwargs["initial"] = {"lines": suggested, **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)
        self.workshops = {str(workshop.pk): workshop for workshop in workshops}
        self.fields["lines"].choices = [(draft.finding_key, _line_label(draft)) for draft in found]
        listed = [(key, workshop.name) for key, workshop in self.workshops.items()]
        self.fields["workshop"].choices = [*listed, (OTHER, _("Another workshop"))]
        if not listed:
            self.initial["workshop"] = OTHER

    def clean(self) -> dict[str, object]:
        """Ask for the name of a workshop that is not in the list."""
        cleaned = super().clean()
        if cleaned.get("workshop") == OTHER and not cleaned.get("other_name") and "other_name" not in self.errors:
            self.add_error("other_name", _("Name the workshop."))
        return cleaned

    def recipient(self) -> Recipient:
        """Return for whom the sheet of a valid form is."""
        workshop = self.workshops.get(self.cleaned_data["workshop"])
        if workshop is not None:
            return Recipient(workshop.name, workshop.email, workshop)
        return Recipient(self.cleaned_data["other_name"], self.cleaned_data["other_email"])

    def shared(self) -> Shared:
        """Return what the rider shares: nothing, unless they say so themselves."""
        return Shared()


def _line_label(draft: JobDraft) -> str:
    if draft.start_by is None:
        return draft.title
    pattern = _("%(title)s (last day to start was %(day)s)") if draft.late else _("%(title)s (start by %(day)s)")
    return pattern % {"title": draft.title, "day": date_format(draft.start_by, "D j M")}


class ShareForm(forms.Form):
    """What a rider lets one workshop know."""

    share_name = forms.BooleanField(label=gettext_lazy("My name"), required=False)
    share_phone = forms.BooleanField(label=gettext_lazy("My telephone number"), required=False)
    share_email = forms.BooleanField(label=gettext_lazy("My e-mail address"), required=False)

    def shared(self) -> Shared:
        """Return what a valid form shares."""
        given = self.cleaned_data
        return Shared(given["share_name"], given["share_phone"], given["share_email"])

    @classmethod
    def of(cls, sheet: JobSheet) -> "ShareForm":
        """Return the form as a sheet stands."""
        return cls(initial={name: getattr(sheet, name) for name in ("share_name", "share_phone", "share_email")})


class RiderSheetForm(ShareForm, SheetForm):
    """A new job sheet made by the rider, who says what the workshop may know of them."""

    field_order = ["lines", "workshop", "other_name", "other_email", "share_name", "share_phone", "share_email", "note"]


class LetterForm(forms.Form):
    """The mail to the workshop, as it was edited."""

    subject = LineField(
        label=gettext_lazy("Subject"),
        max_length=250,
        widget=forms.TextInput(attrs={"class": "wide"}),
        error_messages={"required": gettext_lazy("Give the mail a subject."), "max_length": TOO_LONG},
    )
    body = TextField(
        label=gettext_lazy("Text"), error_messages={"required": gettext_lazy("Write something to the workshop.")}
    )

    def letter(self) -> Letter:
        """Return the letter of a valid form."""
        return Letter(self.cleaned_data["subject"], self.cleaned_data["body"])
