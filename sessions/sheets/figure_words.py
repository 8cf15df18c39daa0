"""Fixed words on the drawings of the owner's figures, in English; a page in another language passes its own."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

VERDICT_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "do_not_ride": "Do not ride",
        "fix_first": "Fix first",
        "ask_rider": "Ask the rider",
        "bring_parts": "Bring parts",
        "clear": "Clear",
        "": "Not kept",
    }
)
MOMENT_WORDS: Mapping[str, str] = MappingProxyType(
    {"booking": "At booking", "three_days": "Three days before", "day": "On the day"}
)


@dataclass(frozen=True, slots=True)
class MovesWords:
    """Words on the drawing of how verdicts moved; `{…}` are filled in."""

    title: str = "How verdicts moved"
    description: str = "Sessions by verdict, from booking to the day: {story}."
    moment: str = "{moment}: {counts}"
    verdicts: Mapping[str, str] = field(default_factory=lambda: VERDICT_WORDS)
    moments: Mapping[str, str] = field(default_factory=lambda: MOMENT_WORDS)


@dataclass(frozen=True, slots=True)
class PairsWords:
    """Words on the drawing of forecasts beside actual minutes; `{…}` are filled in."""

    title: str = "Forecast and actual bench minutes"
    description: str = "{total} sessions, the smallest forecast on the left; the actual minutes of {within} lie within their 90 % band."
    axis: str = "bench minutes"
    band: str = "90 % band, mean"
    inside: str = "actual, within"
    outside: str = "actual, outside"


ENGLISH_MOVES, ENGLISH_PAIRS = MovesWords(), PairsWords()
