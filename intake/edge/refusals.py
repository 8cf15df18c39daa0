"""Tell what was refused from what is merely missing, in forms that save themselves while they are filled in."""

from collections.abc import Iterable

from django import forms
from django.forms.utils import ErrorList

MISSING = ("missing", "required")


def has_refusals(form: forms.BaseForm) -> bool:
    """Return whether something that was typed or chosen cannot be kept, other than something that is still missing."""
    return any(error.code not in MISSING for errors in form.errors.as_data().values() for error in errors)


def slots(form: forms.BaseForm, names: Iterable[str]) -> list[tuple[str, ErrorList]]:
    """Return, for each of these fields, the id of its input and why it was refused; empty where it was not."""
    return [(form[name].auto_id, _refusals(form, name)) for name in names]


def _refusals(form: forms.BaseForm, name: str) -> ErrorList:
    errors = form.errors.as_data().get(name, [])
    return ErrorList([error for error in errors if error.code not in MISSING], renderer=form.renderer)
