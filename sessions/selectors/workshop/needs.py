"""What must be true of a bike so that a session can do its work, in a mechanic's words."""

from collections.abc import Collection, Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.catalogue.schema import Adjustment, Freedom, Hazard
from intake.triage.findings import Finding

FREE_TO_MOVE = {
    Adjustment.SADDLE_HEIGHT: gettext_lazy(
        "Saddle height: the post must slide freely up and down within its minimum-insertion mark, and its clamp must open and close."
    ),
    Adjustment.SADDLE_SETBACK: gettext_lazy(
        "Saddle setback: the saddle must slide on its rails within their marks, and its clamp must open and close."
    ),
    Adjustment.SADDLE_TILT: gettext_lazy(
        "Saddle tilt: the saddle must tilt nose up and nose down, and stay where it is clamped."
    ),
    Adjustment.BAR_HEIGHT_UP: gettext_lazy(
        "Bar height, upwards: the stem must come off and the bar be able to go up; hoses and cables must leave room."
    ),
    Adjustment.BAR_HEIGHT_DOWN: gettext_lazy("Bar height, downwards: the stem must come off and be able to sit lower."),
    Adjustment.BAR_REACH: gettext_lazy(
        "Bar reach: the stem must come off, so that another length can be tried; hoses and cables must leave room."
    ),
    Adjustment.BAR_ROTATION: gettext_lazy(
        "Bar rotation: the bar must turn in its clamp when that is open, and hold when it is closed."
    ),
    Adjustment.LEVER_POSITION: gettext_lazy(
        "Lever position: both levers must move along and around the bar, and hold when they are clamped."
    ),
    Adjustment.CLEAT_FORE_AFT: gettext_lazy(
        "Cleats, fore and aft: their bolts must turn, and the cleats slide lengthways."
    ),
    Adjustment.CLEAT_LATERAL: gettext_lazy("Cleats, sideways: their bolts must turn, and the cleats slide sideways."),
    Adjustment.CLEAT_ROTATION: gettext_lazy("Cleats, rotation: their bolts must turn, and the cleats twist."),
    Adjustment.PAD_HEIGHT: gettext_lazy("Pad height: the pads' spacers must come off and go on again."),
    Adjustment.PAD_REACH: gettext_lazy("Pad reach: the pads must slide fore and aft when their clamp is open."),
    Adjustment.PAD_WIDTH: gettext_lazy("Pad width: the pads must move in and out when their clamp is open."),
}


def session_needs(finding: Finding, essential: Collection[Adjustment]) -> tuple[str, ...]:
    """Return what the session needs that this finding stands against: safety first, then what must move, then true readings."""
    return tuple(_needs(finding, essential)) or (
        _("In order before the session, so that none of its time goes on this."),
    )


def _needs(finding: Finding, essential: Collection[Adjustment]) -> Iterator[str]:
    if finding.hazard is Hazard.DO_NOT_RIDE:
        yield _("Safety: a qualified mechanic inspects it and says whether the bike may be ridden.")
    for each in Adjustment:
        if each in essential and finding.effects.get(each, Freedom.FREE) is not Freedom.FREE:
            yield str(FREE_TO_MOVE[each])
    if finding.fault.unreliable:
        yield _("True readings: the fault falsifies what is measured until it is put right.")
