"""The closing safety list: what is looked at before a rider leaves, and when a line of it is still open."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from intake.models.bikes import Bike
from sessions.models.fits import SafetyState

Text = str | Promise


@dataclass(frozen=True)
class SafetyLine:
    """One line: what it says, what to look for, and whether a torque belongs to it."""

    key: str
    label: Text
    how: Text = ""
    has_torque: bool = False
    aero_only: bool = False


# Common practice, no source, save that every torque is the part's own printed figure.
LINES: tuple[SafetyLine, ...] = (
    SafetyLine(
        "stem", _("Stem on the steerer"), _("Bearing play first, then the clamp bolts in turn."), has_torque=True
    ),
    SafetyLine("faceplate", _("Bar in the stem"), _("Gaps above and below as the maker asks."), has_torque=True),
    SafetyLine("levers", _("Levers on the bar"), has_torque=True),
    SafetyLine("aero_bars", _("Pads and extensions"), has_torque=True, aero_only=True),
    SafetyLine("saddle_clamp", _("Saddle on the post"), _("Rails inside their marks."), has_torque=True),
    SafetyLine("seat_collar", _("Post in the frame"), has_torque=True),
    SafetyLine("pedals", _("Pedals in the cranks"), _("The left pedal has a left-hand thread."), has_torque=True),
    SafetyLine("cleats", _("Cleats on the shoes"), has_torque=True),
    SafetyLine("carbon_paste", _("Carbon assembly compound where the maker asks for it")),
    SafetyLine("insertion", _("Minimum-insertion mark does not show"), _("On the post, and on a quill stem.")),
    SafetyLine("saddle_level", _("Saddle straight to the frame, tilt as measured")),
    SafetyLine("headset", _("Headset turns freely, no knock with the front brake on")),
    SafetyLine(
        "steering",
        _("Steering turns freely to both sides"),
        _("No hose or cable goes taut; nothing touches the frame."),
    ),
    SafetyLine("brakes", _("Both brakes stop the bike"), _("Levers firm, reach as set, wheels run clear.")),
    SafetyLine("wheels", _("Wheels secured"), _("Axles or quick releases closed, thread engaged.")),
)
BY_KEY: Mapping[str, SafetyLine] = {line.key: line for line in LINES}


def has_aero_bars(bike: Bike) -> bool:
    """Return whether the bike carries pads, as far as is known."""
    return bike.bar_kind == "aero" or bike.kind == "triathlon"


def lines_for(bike: Bike) -> tuple[SafetyLine, ...]:
    """Return the lines that a bike is closed with."""
    return tuple(line for line in LINES if not line.aero_only or has_aero_bars(bike))


def open_because(line: SafetyLine, *, state: str, torque: str, note: str) -> Text:
    """Return why a line is still open, nothing where it is settled.

    A tightened bolt is settled by the figure printed on its part, or by a note on where the figure came from.
    """
    if not state:
        return _("Say whether this is done, does not apply, or was not done and the rider told.")
    if line.has_torque and state == SafetyState.DONE and not (torque or note):
        return _("Write the figure as printed on the part, or say in the note where it came from.")
    return ""
