"""Publishing, discarding and restoring editions."""

from django import forms
from django.utils.translation import gettext_lazy as _

from fitstudio.catalogue.forms.fields import WordsField

MOST = 2**31 - 1


class PublishForm(forms.Form):
    """The draft as it was seen, and what the owner says about it."""

    mark_optional = False

    number = forms.IntegerField(min_value=1, max_value=MOST, widget=forms.HiddenInput)
    revision = forms.IntegerField(min_value=0, max_value=MOST, widget=forms.HiddenInput)
    note = WordsField(
        label=_("What this edition is for"),
        longest=300,
        error_messages={"required": _("Write a few words: they stand in the history.")},
    )


class EditionForm(forms.Form):
    """The number of an edition; 0 stands for the catalogue as it is shipped."""

    number = forms.IntegerField(min_value=0, max_value=MOST, widget=forms.HiddenInput)
