"""What people read in place of the catalogue's own keys."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.catalogue.schema import COULD_NOT, Check, Group, Who
from intake.edge.units import in_mm, show_length
from intake.models import CheckAnswer
from intake.models.clients import LengthUnit

GROUP_LABELS = {
    Group.RIDER: gettext_lazy("You"),
    Group.WHOLE: gettext_lazy("The whole bike"),
    Group.SEAT: gettext_lazy("Saddle and seatpost"),
    Group.FRONT: gettext_lazy("Handlebar and front"),
    Group.FEET: gettext_lazy("Shoes, pedals and cranks"),
}
WHO_LABELS = {
    Who.RIDER: gettext_lazy("Yourself"),
    Who.WORKSHOP: gettext_lazy("Workshop"),
    Who.STUDIO: gettext_lazy("Studio"),
    Who.BRING: gettext_lazy("Bring along"),
}
SIDE_LABELS = {"left": gettext_lazy("left"), "right": gettext_lazy("right"), "both": gettext_lazy("both sides")}
UNIT_LABELS = {LengthUnit.MILLIMETRE: gettext_lazy("mm"), LengthUnit.INCH: gettext_lazy("in")}
COULD_NOT_LABEL = gettext_lazy("I could not do it")
TYPED_PLACES = {LengthUnit.MILLIMETRE: 1, LengthUnit.INCH: 3}


def place_label(area: str, side: str) -> str:
    """Return a body area with its side."""
    return _("%(area)s, %(side)s") % {"area": area, "side": SIDE_LABELS[side]} if side else area


def typed_length(value_mm: float, unit: str) -> str:
    """Return a stored length as it is typed again: enough digits that nothing is lost by looking.

    >>> typed_length(38.1, "in")
    '1.5'
    """
    return f"{value_mm / in_mm(unit):.{TYPED_PLACES[unit]}f}".rstrip("0").rstrip(".")


def could_not_words(check: Check) -> str:
    """Return how a rider says of this check that it could not be done or answered."""
    return check.could_not or str(COULD_NOT_LABEL)


def answer_labels(check: Check) -> dict[str, str]:
    """Return every answer that a check takes, in words, that it could not be done last."""
    return {option.key: option.label for option in check.options} | {COULD_NOT: could_not_words(check)}


def answer_words(check: Check, row: CheckAnswer, unit: str) -> str:
    """Return a stored answer in words: the chosen row and the lengths in the reader's unit."""
    labels = answer_labels(check)
    said = [labels[row.option]] if row.option in labels else []
    given_mm = row.readable_lengths_mm()
    lengths = [
        _("%(what)s %(length)s")
        % {"what": number.label, "length": show_length(given_mm[number.key], unit, TYPED_PLACES[unit] - 1)}
        for number in check.numbers
        if number.key in given_mm
    ]
    return "; ".join([*said, *lengths])
