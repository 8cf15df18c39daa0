"""Fonts that are embedded in print, and text cut into runs by what each font really covers.

Source Sans Pro carries Latin, Greek and Cyrillic; WenQuanYi Micro Hei, loaded only when a text needs it, carries Chinese,
Japanese and Korean. A character that neither covers prints as a visible box, so that nothing vanishes unseen.
"""

import unicodedata
from collections.abc import Iterator
from functools import cache, lru_cache
from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from typing import Literal

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

Style = Literal["regular", "bold", "italic"]

LATIN_FILES = {
    "regular": "SourceSansPro-Regular.ttf",
    "bold": "SourceSansPro-Semibold.ttf",
    "italic": "SourceSansPro-It.ttf",
}
WIDE_FILE = "wqy-microhei.ttc"
WIDE_NAME = "sheet-wide"
MISSING = "□"
EM = 1000
KEPT_WIDTHS = 4096


@cache
def _latin(style: Style) -> TTFont:
    folder = files("font_source_sans_pro") / "files"
    return _registered(f"sheet-{style}", folder / LATIN_FILES[style])


@cache
def _wide() -> TTFont:
    return _registered(WIDE_NAME, files("paperang_p2_fonts_cjk") / "fonts" / WIDE_FILE)


def _registered(name: str, resource: Traversable) -> TTFont:
    with as_file(resource) as path:
        font = TTFont(name, str(path), subfontIndex=0)
    pdfmetrics.registerFont(font)
    return font


def printable(text: str) -> str:
    """Text as it can be set in one line: composed letters, no control or invisible characters, single spaces.

    >>> printable("Zoe\\u0308\\x00\\n Roe")
    'Zoë Roe'
    """
    composed = unicodedata.normalize("NFC", text)
    if composed.isascii() and composed.isprintable():
        return " ".join(composed.split())
    kept = (" " if unicodedata.category(each) in {"Cc", "Zl", "Zp", "Zs"} else each for each in composed)
    return " ".join("".join(each for each in kept if unicodedata.category(each) not in {"Cf", "Cs"}).split())


@lru_cache(maxsize=KEPT_WIDTHS)
def runs(text: str, style: Style) -> tuple[tuple[str, str], ...]:
    """Cut printable text into (font name, characters) runs that each font can draw in full."""
    latin = _latin(style)
    covered = latin.face.charToGlyph
    if all(ord(each) in covered for each in text):
        return ((latin.fontName, text),) if text else ()
    joined: list[tuple[str, str]] = []
    for name, part in _pieces(text, latin):
        if joined and joined[-1][0] == name:
            joined[-1] = (name, joined[-1][1] + part)
        else:
            joined.append((name, part))
    return tuple(joined)


def _pieces(text: str, latin: TTFont) -> Iterator[tuple[str, str]]:
    for each in text:
        if ord(each) in latin.face.charToGlyph:
            yield latin.fontName, each
        elif ord(each) in _wide().face.charToGlyph:
            yield WIDE_NAME, each
        elif not unicodedata.combining(each):
            yield WIDE_NAME, MISSING


def has_gaps(text: str) -> bool:
    """Whether some character of the text can only be printed as a box.

    >>> has_gaps("森田 Łukasz"), has_gaps("שלום")
    (False, True)
    """
    return MISSING in "".join(part for _, part in runs(printable(text), "regular")) and MISSING not in text


@lru_cache(maxsize=KEPT_WIDTHS)
def text_width_em(text: str, style: Style) -> float:
    """Width of printable text set at size one."""
    return sum(float(pdfmetrics.getFont(name).stringWidth(part, EM)) for name, part in runs(text, style)) / EM
