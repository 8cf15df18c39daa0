"""Torques as parts print them: kept as they stand there, converted only to be read beside the tool's own scale."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

# Newton metres in one unit. NIST SP 811 (2008), appendix B.8: pound-force inch, pound-force foot, kilogram-force metre.
IN_NEWTON_METRES: Mapping[str, float] = {
    "N·m": 1.0,
    "lbf·in": 0.1129848,
    "lbf·ft": 1.355818,
    "kgf·cm": 0.0980665,
}
_SPELLINGS: Mapping[str, str] = {
    "N·m": r"n\s*[·.⋅∙*x×-]?\s*m|newton[\s-]*met(?:re|er)s?",
    "lbf·in": r"lbf?s?\s*[·.⋅∙*-]?\s*in(?:ch(?:es)?)?|in(?:ch)?\s*[·.⋅∙*-]?\s*lbf?s?",
    "lbf·ft": r"lbf?s?\s*[·.⋅∙*-]?\s*(?:ft|foot|feet)|(?:ft|foot)\s*[·.⋅∙*-]?\s*lbf?s?",
    "kgf·cm": r"kgf?\s*[·.⋅∙*-]?\s*cm",
}
_NUMBER = r"\d{1,4}(?:[.,]\d{1,3})?"
_TORQUE = re.compile(
    rf"(?P<low>{_NUMBER})(?:\s*(?:-|–|—|to|…)\s*(?P<high>{_NUMBER}))?\s*"
    rf"(?:{'|'.join(f'(?P<u{i}>{spelling})' for i, spelling in enumerate(_SPELLINGS.values()))})(?![a-z])",
    re.IGNORECASE,
)
# Makers round a converted figure to whole units; a wider gap is a misprint.
ROUNDING = 0.05


@dataclass(frozen=True, slots=True)
class Torque:
    """One figure, or a range, in the unit in which it is printed."""

    low: float
    high: float
    unit: str

    @property
    def low_nm(self) -> float:
        """Lower end [N·m]."""
        return self.low * IN_NEWTON_METRES[self.unit]

    @property
    def high_nm(self) -> float:
        """Upper end [N·m]."""
        return self.high * IN_NEWTON_METRES[self.unit]

    def in_unit(self, unit: str) -> str:
        """Return it in another unit, to a tenth.

        >>> Torque(80, 125, "lbf·in").in_unit("N·m")
        '9.0–14.1 N·m'
        """
        ends = [f"{nm / IN_NEWTON_METRES[unit]:.1f}" for nm in (self.low_nm, self.high_nm)]
        return f"{'–'.join(dict.fromkeys(ends))} {unit}"


def parse_torques(text: str) -> tuple[Torque, ...]:
    """Return every torque that stands in a text, in its order; none where there is none.

    Examples
    --------
    >>> parse_torques("max. 5 Nm")
    (Torque(low=5.0, high=5.0, unit='N·m'),)
    >>> [each.unit for each in parse_torques("80–125 lb·in (9.6–14.1 N·m)")]
    ['lbf·in', 'N·m']
    >>> parse_torques("hand-tight")
    ()
    """
    return tuple(_torque(match) for match in _TORQUE.finditer(text))


def _torque(match: re.Match[str]) -> Torque:
    low = float(match["low"].replace(",", "."))
    high = float(match["high"].replace(",", ".")) if match["high"] else low
    unit = next(unit for i, unit in enumerate(_SPELLINGS) if match[f"u{i}"])
    return Torque(low, high, unit)


def torque_hint(text: str) -> str:
    """Return what helps to read a printed torque: it in the other unit, or that its two figures do not agree.

    Examples
    --------
    >>> torque_hint("44 in-lb")
    '= 5.0 N·m'
    >>> torque_hint("5 N·m")
    '= 44.3 lbf·in'
    >>> torque_hint("80–125 lb·in (9.6–14.1 N·m)")
    'The two printed figures do not agree: 80 lbf·in is 9.0 N·m, not 9.6 N·m.'
    >>> torque_hint("snug")
    ''
    """
    found = parse_torques(text)
    if not found:
        return ""
    if len({each.unit for each in found}) == 1:
        other = "lbf·in" if found[0].unit == "N·m" else "N·m"
        return "= " + ", ".join(each.in_unit(other) for each in found)
    return next(_disagreements(found), "")


def _disagreements(found: tuple[Torque, ...]) -> Iterator[str]:
    first = found[0]
    for other in (each for each in found[1:] if each.unit != first.unit):
        for end in ("low", "high"):
            one_nm, other_nm = getattr(first, f"{end}_nm"), getattr(other, f"{end}_nm")
            if abs(one_nm - other_nm) > ROUNDING * max(one_nm, other_nm):
                value, printed = getattr(first, end), getattr(other, end)
                told = one_nm / IN_NEWTON_METRES[other.unit]
                yield (
                    f"The two printed figures do not agree: {value:g} {first.unit} is {told:.1f} {other.unit}, "
                    f"not {printed:g} {other.unit}."
                )
