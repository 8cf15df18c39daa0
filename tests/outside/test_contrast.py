"""The colours of tokens.css against the contrast that WCAG 2.2 asks for.

Source of the formula and of the ratios: W3C, *Web Content Accessibility Guidelines (WCAG) 2.2*, the definitions of
"relative luminance" and "contrast ratio", success criteria 1.4.3 Contrast (Minimum): 4.5 for text, 1.4.6 Contrast
(Enhanced): 7 for text, and 1.4.11 Non-text Contrast: 3 for the lines that show where a control is.
"""

import re
from pathlib import Path

import pytest

CSS = Path(__file__).resolve().parents[2] / "static" / "css"
PAIR = re.compile(r"/\* contrast: (--[\w-]+) on (--[\w-]+) ([\d.]+) \*/")
DECORATIVE = re.compile(r"/\* decorative: (--[\w-]+) \*/")
COLOUR = re.compile(r"(--[\w-]+): (#[0-9a-f]{6});")
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
RULE = re.compile(r"\{([^{}]*)\}")
COLOUR_LITERAL = re.compile(
    r":[^;{]*(#[0-9a-fA-F]{3,8}\b|\b(?:rgba?|hsla?|oklch|lab|color)\(|\b(?:white|black|red|gr[ae]y)\b)"
)
TOKENS = (CSS / "tokens.css").read_text(encoding="utf-8")


def relative_luminance(colour: str) -> float:
    """Return the relative luminance of ``#rrggbb`` as WCAG 2.2 defines it."""
    channels = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast_ratio(one: str, other: str) -> float:
    """Return (L1 + 0.05) / (L2 + 0.05), L1 being the lighter of the two."""
    darker, lighter = sorted((relative_luminance(one), relative_luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def declared(block_start: str) -> dict[str, str]:
    """Return the colours declared in the first block after ``block_start``."""
    after = TOKENS.split(block_start, 1)[1]
    return dict(COLOUR.findall(after[: after.index("}")]))


LIGHT = declared("\n:root {")
SCHEMES = {
    "light": LIGHT,
    "dark": declared("(prefers-color-scheme: dark) {"),
    "print": LIGHT | declared("@media print {"),
}
PAIRS = [(ink, ground, float(asked)) for ink, ground, asked in PAIR.findall(TOKENS)]


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ("#000000", "#ffffff", 21.0),  # WCAG 2.2: ratios range from 1 to 21
        ("#c0ffee", "#c0ffee", 1.0),
        (
            "#777777",
            "#ffffff",
            4.48,
        ),  # the grey that the guidelines' authors ruled out in 2016: 4.48 may not be rounded up
        ("#767676", "#ffffff", 4.54),  # its neighbour just over; figure from memory
    ],
)
def test_the_formula_gives_the_known_ratios(one, other, expected):
    """The measure itself is right, whichever colour comes first."""
    assert contrast_ratio(one, other) == pytest.approx(expected, abs=0.005)
    assert contrast_ratio(other, one) == contrast_ratio(one, other)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("ink", "ground", "asked"), PAIRS, ids=str)
def test_every_pair_reaches_its_ratio(scheme, ink, ground, asked):
    """What is read or aimed at stands out in light, in dark and on paper."""
    colours = SCHEMES[scheme]
    assert contrast_ratio(colours[ink], colours[ground]) >= asked


def test_no_pair_asks_for_less_than_the_guidelines():
    """Text is never let off with less than 4.5, a control's line never with less than 3."""
    assert {asked for ink, _, asked in PAIRS if ink != "--edge"} <= {4.5, 7.0}
    assert {asked for ink, _, asked in PAIRS if ink == "--edge"} == {3.0}


def test_both_schemes_declare_every_colour_and_each_is_measured():
    """A colour cannot be added in one scheme only, or without saying what it must be read against."""
    measured = {name for ink, ground, _ in PAIRS for name in (ink, ground)}
    assert set(SCHEMES["dark"]) == set(LIGHT) == measured | set(DECORATIVE.findall(TOKENS))


def stylesheets() -> list[Path]:
    """Return the stylesheets that use the tokens."""
    return [path for path in sorted(CSS.glob("*.css")) if path.name != "tokens.css"]


@pytest.mark.parametrize("path", stylesheets(), ids=lambda path: path.name)
def test_colours_are_named_nowhere_else(path):
    """No colour escapes the measurement by being written into a rule."""
    assert not COLOUR_LITERAL.findall(COMMENT.sub("", path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("path", stylesheets(), ids=lambda path: path.name)
def test_every_rule_that_sets_ink_and_ground_uses_a_measured_pair(path):
    """Where a rule sets both, the pair is among those measured above."""
    measured = {(ink, ground) for ink, ground, _ in PAIRS}
    used = set()
    for rule in RULE.findall(path.read_text(encoding="utf-8")):
        ink = re.search(r"(?:^|[;\s])color: var\((--[\w-]+)\)", rule)
        ground = re.search(r"(?:^|[;\s])background(?:-color)?: var\((--[\w-]+)\)", rule)
        if ink and ground:
            used.add((ink[1], ground[1]))
    assert used <= measured
