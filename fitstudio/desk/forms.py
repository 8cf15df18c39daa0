"""What the desk types: where to look, who a client is, what a bike is made of."""

from datetime import date

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from intake.edge.fields import LengthField, SearchField
from intake.edge.people import LatinField, NameField
from intake.models import Bike, Client
from intake.models.bikes import LIMITS
from intake.models.mail import MailState
from sessions.forms.fields import FIRST_DAY, LAST_DAY

BIGGEST_KEY = 2**63 - 1  # what a database's integers hold


class DayForm(forms.Form):
    """The day to show."""

    day = forms.DateField(label=_("Day"), required=False, widget=forms.DateInput(attrs={"type": "date"}))

    def clean_day(self) -> date | None:
        """Refuse a day that no diary of ours holds."""
        day = self.cleaned_data["day"]
        if day and not FIRST_DAY <= day <= LAST_DAY:
            raise ValidationError(_("Choose a day between 2000 and 2199."))
        return day


class ClientSearchForm(forms.Form):
    """What to look for among the clients."""

    mark_optional = False
    q = SearchField(label=_("Name, e-mail or telephone"))


class MailSearchForm(forms.Form):
    """What to look for in the outbox."""

    mark_optional = False
    q = SearchField(label=_("Address or subject"))
    state = forms.ChoiceField(label=_("State"), required=False, choices=[("", _("any")), *MailState.choices])
    client = forms.IntegerField(required=False, min_value=1, max_value=BIGGEST_KEY, widget=forms.HiddenInput)


class ClientForm(forms.ModelForm):
    """Who a client is and how to reach them."""

    class Meta:
        model = Client
        fields = ["name", "latin_name", "email", "phone", "length_unit", "notes"]
        help_texts = {
            "latin_name": _("Printed beside a name in another script, where a font may lack it."),
            "phone": _("With the country code, or as dialled at home."),
            "notes": _("For the studio only."),
        }
        field_classes = {"name": NameField, "latin_name": LatinField}
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "off"}),
            "email": forms.EmailInput(attrs={"autocomplete": "off"}),
            "phone": forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
            "length_unit": forms.RadioSelect(attrs={"class": "inline"}),
            "notes": forms.Textarea(attrs={"rows": 4}),
        }


class DegreesField(forms.FloatField):
    """An angle with a point or a comma, and any of the signs that keyboards have for minus."""

    widget = forms.TextInput
    default_error_messages = {"invalid": _("Type degrees as a number, such as 73.5.")}

    def to_python(self, value: object) -> float | None:
        """Read the number as it was typed."""
        if isinstance(value, str):
            value = value.replace(",", ".").replace("−", "-").removesuffix("°")
        return super().to_python(value)


def _number_field(name: str, label: str) -> forms.Field:
    """Return the field of a bike fact; its unit leaves the label and is written beside the input."""
    low, high = LIMITS[name]
    plain = label.partition(" (")[0]
    if name.endswith("_mm"):
        return LengthField(label=plain, required=False, minimum_mm=low, maximum_mm=high)
    field = DegreesField(label=plain, required=False, min_value=low, max_value=high)
    field.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off", "class": "narrow"})
    field.unit = "°"
    return field


class BikeForm(forms.ModelForm):
    """What a bike is made of; lengths take millimetres or inches. The page says that only name and kind are needed."""

    mark_optional = False
    GROUPS = [
        (_("The bike"), ["name", "kind", "frame_size", "indoors"]),
        (
            _("Frame"),
            ["head_stack_mm", "head_reach_mm", "head_angle_deg", "seat_angle_deg"],
        ),
        (_("Seat"), ["post_kind", "post_diameter_mm", "post_length_mm", "saddle"]),
        (
            _("Front"),
            [
                *("cockpit", "bar_kind", "routing", "spacers_under_mm", "spacers_over_mm"),
                *("stem_length_mm", "stem_angle_deg", "bar_width_mm", "bar_reach_mm", "bar_drop_mm"),
            ],
        ),
        (
            _("Feet and wheels"),
            ["pedal_kind", "crank_length_mm", "rim_diameter_mm", "tyre_width_mm", "axle_standard"],
        ),
        (_("Notes"), ["notes"]),
    ]

    class Meta:
        model = Bike
        fields = [
            *("name", "kind", "frame_size", "indoors", "post_kind", "saddle", "cockpit", "bar_kind", "routing"),
            *("pedal_kind", "axle_standard", "notes", *LIMITS),
        ]
        field_classes = {"name": NameField}
        widgets = {"notes": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args: object, **kwargs: object) -> None:
        """Give each number its unit and limits."""
        super().__init__(*args, **kwargs)
        for name in LIMITS:
            self.fields[name] = _number_field(name, str(self.fields[name].label))
            value = getattr(self.instance, name)
            self.initial[name] = None if value is None else f"{value:g}"

    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Return the fields under the headings of the page."""
        return [(heading, [self[name] for name in names]) for heading, names in self.GROUPS]
