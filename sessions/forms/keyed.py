"""Forms that store once, however often they are sent."""

from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _


class KeyedForm(forms.Form):
    """A form that adds something: its key names it, so that sent twice it adds one."""

    request_key = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages=dict.fromkeys(
            ("required", "invalid"), _("This page had been open for too long. Please check it and send it again.")
        ),
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        """Give a fresh form its key."""
        kwargs["initial"] = {"request_key": uuid4(), **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)

    def renew(self) -> None:
        """Make this a new form with everything typed still in it."""
        self.data = self.data.copy()
        self.data[self.add_prefix("request_key")] = str(uuid4())
