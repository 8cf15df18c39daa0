"""What the desk keeps about a workshop."""

from django import forms
from django.utils.translation import gettext_lazy as _

from intake.edge.people import NameField
from intake.models import Workshop

TOO_LONG = _("Shorten this to %(limit_value)d characters; it has %(show_value)d.")


class WorkshopForm(forms.ModelForm):
    """Name and how to reach it; only the name is needed."""

    class Meta:
        model = Workshop
        fields = ["name", "email", "phone", "address", "note"]
        field_classes = {"name": NameField}
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "off"}),
            "email": forms.TextInput(attrs={"autocomplete": "off", "inputmode": "email"}),
            "phone": forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
            "address": forms.Textarea(attrs={"rows": 3}),
            "note": forms.Textarea(attrs={"rows": 3}),
        }
        help_texts = {
            "email": _("Job sheets are mailed here."),
            "phone": _("With the country code, or as dialled at home."),
            "note": _("For the studio only: opening hours, whom to ask for."),
        }
        error_messages = {
            "name": {"required": _("Give the workshop a name."), "max_length": TOO_LONG},
            "email": {"invalid": _("Enter an e-mail address such as name@workshop.example, or leave it empty.")},
            "address": {"max_length": TOO_LONG},
            "note": {"max_length": TOO_LONG},
        }

    def clean_name(self) -> str:
        """Refuse a name that is in the list already, however it is written."""
        name = self.cleaned_data["name"]
        if Workshop.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).exists():
            self.refuse_name()
        return name

    def refuse_name(self) -> None:
        """Say that the list has this workshop."""
        self.add_error("name", _("A workshop of this name is in the list already, perhaps a retired one."))
