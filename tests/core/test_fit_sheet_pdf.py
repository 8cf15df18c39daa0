"""The printed fit sheet, read back from the PDF: its words, its numbers, its scale, its pages."""

import hashlib
import math
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache
from io import BytesIO
from itertools import combinations, pairwise
from pathlib import Path

import pdfplumber
import pytest
from hypothesis import given, settings
from pypdf import PdfReader

from sessions.sheets.content import (
    Bike,
    ComponentChange,
    DiscomfortRow,
    FitSheet,
    PositionRow,
    Rider,
    SafetyItem,
    Studio,
)
from sessions.sheets.fit_sheet import fit_sheet_pdf
from sessions.sheets.numbers import NumberStyle
from sessions.sheets.words import DrawingWords, Words
from tests.core.sheet_examples import (
    AERO_AFTER,
    AERO_BEFORE,
    ROAD_AFTER,
    ROAD_BEFORE,
    SADDLE_HEIGHT_MM,
    changes,
    sheet,
)
from tests.strategies_drawing import likely_bikes, nonsense_points, text_of_any_kind

MM_PT = 72 / 25.4
BARE = FitSheet(Studio("Wrenfield Cycle Fitting"), Rider("Bo Field"), Bike("Blue"), "18 November 2026")
NAMES = {
    "Polish": "Łucja Żółkiewska-Święcicka",
    "Czech": "Jiří Růžička Ďáblický",
    "Vietnamese": "Nguyễn Thị Ánh Tuyết",
    "Greek": "Ελευθέριος Παπαδόπουλος",
    "Cyrillic": "Щукин Юрий Ґалаґан",
    "Japanese": "森田 一義",
    "Chinese": "王小明",
    "Traditional Chinese": "龔靜儀",
    "Korean": "김민수",
    "kana": "さとう ユリ",
}
LONG_NAME = (
    "Wolfeschlegelsteinhausenbergerdorff-Featherstonehaugh, Maximiliana Aurelia Theodora Wilhelmina of Upper Wrenfield"
)


def opened(data):
    return pdfplumber.open(BytesIO(data))


def text_of(data):
    with opened(data) as pdf:
        return "\n".join(page.extract_text() for page in pdf.pages)


def columns_of(data):
    """The text of the left half and of the right half of each page, line by line."""
    halves = []
    with opened(data) as pdf:
        for page in pdf.pages:
            middle = float(page.width) / 2 + 3.5 * MM_PT
            for left, right in ((40, middle), (middle, float(page.width))):
                halves.append(page.crop((left, 0, right, float(page.height))).extract_text())
    return "\n".join(halves)


def pages_of(data):
    return len(PdfReader(BytesIO(data)).pages)


@cache
def road_pdf():
    return fit_sheet_pdf(sheet())


# ── Names ────────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_names_of_many_scripts_read_back_as_written(name):
    data = fit_sheet_pdf(replace(BARE, rider=Rider(name), bike=Bike(name)))
    assert text_of(data).count(name) == 2


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_every_letter_of_a_name_leaves_ink(name):
    """Text that reads back may still be blank on paper, so the page is rendered and looked at."""
    with opened(fit_sheet_pdf(replace(BARE, rider=Rider(name)))) as pdf:
        page = pdf.pages[0]
        image = page.to_image(resolution=200).original.convert("L")
        dots = image.width / float(page.width)
        start = page.extract_text(layout=False) and _chars_of(page, name)
        assert start, name
        for char in start:
            box = tuple(int(char[side] * dots) for side in ("x0", "top", "x1", "bottom"))
            dark = sum(image.crop(box).point(lambda shade: shade < 128).histogram()[1:])
            assert dark > 10, char["text"]


def _chars_of(page, name):
    """The characters of the first place on the page that spells `name`, spaces aside."""
    wanted = name.replace(" ", "")
    chars = [char for char in page.chars if char["text"].strip()]
    spelt = "".join(char["text"] for char in chars)
    at = spelt.find(wanted)
    return chars[at : at + len(wanted)] if at >= 0 else []


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_every_font_is_embedded(name):
    reader = PdfReader(BytesIO(fit_sheet_pdf(replace(BARE, rider=Rider(name)))))
    fonts = {font.get_object()["/BaseFont"]: font.get_object() for page in reader.pages for font in _fonts(page)}
    used = {base: font for base, font in fonts.items() if "+" in base}
    assert used
    assert all("/FontFile2" in font["/FontDescriptor"] for font in used.values())


def _fonts(page):
    return page["/Resources"]["/Font"].values()


def test_only_embedded_fonts_draw_text():
    with opened(fit_sheet_pdf(sheet(rider=Rider("森田 שרה Łucja")))) as pdf:
        drawn = {char["fontname"] for page in pdf.pages for char in page.chars}
    assert all("SourceSansPro" in name or "WenQuanYi" in name for name in drawn), drawn


@pytest.mark.parametrize(("name", "boxes"), [("שרה כהן", 6), ("سارة", 4), ("😀", 1), ("\U00020bb7田", 1)])
def test_what_no_font_covers_prints_as_boxes_with_the_latin_form_beside_it(name, boxes):
    text = text_of(fit_sheet_pdf(replace(BARE, rider=Rider(name, "Sara Cohen"))))
    assert text.count("□") == boxes
    assert "Sara Cohen" in text


def test_a_decomposed_name_prints_composed():
    assert "Zoë Dvořák" in text_of(fit_sheet_pdf(replace(BARE, rider=Rider("Zoe\u0308 Dvor\u030ca\u0301k"))))


def test_a_long_name_is_kept_whole():
    text = text_of(fit_sheet_pdf(sheet(rider=Rider(LONG_NAME))))
    assert all(word in text.replace("\n", " ") for word in ("Theodora", "Wilhelmina", "Wrenfield"))


@pytest.mark.parametrize("length", [300, 3000])
def test_an_absurdly_long_name_ends_with_an_ellipsis_inside_its_cell(length):
    data = fit_sheet_pdf(replace(BARE, rider=Rider("W" * length), bike=Bike("W " * length, "i" * length)))
    assert "…" in text_of(data)
    assert pages_of(data) == 1
    assert _outside_frame(data) == []


# ── Pages ────────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("paper", "width_mm", "height_mm"), [("A4", 210, 297), ("Letter", 8.5 * 25.4, 11 * 25.4)], ids=["A4", "Letter"]
)
def test_page_size_is_the_paper_s(paper, width_mm, height_mm):
    for page in PdfReader(BytesIO(fit_sheet_pdf(sheet(paper=paper)))).pages:
        assert float(page.mediabox.width) == pytest.approx(width_mm * MM_PT, abs=0.01)
        assert float(page.mediabox.height) == pytest.approx(height_mm * MM_PT, abs=0.01)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(("before", "after"), [(ROAD_BEFORE, ROAD_AFTER), (AERO_BEFORE, AERO_AFTER)])
def test_forty_changes_stay_within_two_pages(paper, before, after):
    data = fit_sheet_pdf(sheet(before, after, changes=changes(40), paper=paper, rider=Rider(LONG_NAME)))
    text = text_of(data)
    assert pages_of(data) == 2
    assert [n for n in range(1, 41) if f"Part number {n} " not in text] == []
    assert _outside_frame(data) == []


def test_two_hundred_changes_are_all_printed():
    data = fit_sheet_pdf(sheet(changes=changes(200)))
    text = text_of(data)
    assert [n for n in range(1, 201) if f"Part number {n} " not in text] == []
    assert f"1 of {pages_of(data)}" in text
    assert f"{pages_of(data)} of {pages_of(data)}" in text


def test_ninety_rows_of_position_are_all_printed():
    rows = tuple(PositionRow(f"Dimension number {n}.", "1.0", "2.0", "+1.0", "0.5", real=True) for n in range(90))
    text = text_of(fit_sheet_pdf(sheet(rows=rows)))
    assert [n for n in range(90) if f"Dimension number {n}." not in text] == []
    assert "Position, continued" in text


def test_a_sheet_with_almost_nothing_is_one_page_of_dashes():
    data = fit_sheet_pdf(BARE)
    text = text_of(data)
    assert pages_of(data) == 1
    assert "No position has been measured yet." in text
    assert text.count("–") > 10
    assert "None" not in text


def test_long_notes_are_kept_whole():
    notes = " ".join(f"word{n}" for n in range(2000))
    text = text_of(fit_sheet_pdf(sheet(notes=notes)))
    assert [n for n in range(2000) if f"word{n}" not in text] == []


@pytest.mark.parametrize(
    "shown",
    [
        sheet(),
        sheet(AERO_BEFORE, AERO_AFTER, paper="Letter", style=NumberStyle("in")),
        BARE,
        sheet(changes=changes(40)),
    ],
    ids=["road", "aero", "bare", "forty"],
)
def test_nothing_is_printed_over_anything_else(shown):
    with opened(fit_sheet_pdf(shown)) as pdf:
        for page in pdf.pages:
            clashes = [(a["text"], b["text"]) for a, b in combinations(_inked(page), 2) if _overlap_share(a, b) > 0.12]
            assert clashes == []
    assert _outside_frame(fit_sheet_pdf(shown)) == []


def _inked(page):
    """Characters with the height that their ink takes, about: the middle of their line."""
    return [
        {**char, "top": char["top"] + 0.28 * char["height"], "bottom": char["bottom"] - 0.26 * char["height"]}
        if char["upright"]
        else char
        for char in page.chars
        if char["text"].strip()
    ]


def _overlap_share(a, b):
    wide = min(a["x1"], b["x1"]) - max(a["x0"], b["x0"])
    high = min(a["bottom"], b["bottom"]) - max(a["top"], b["top"])
    if wide <= 0 or high <= 0:
        return 0.0
    smaller = min((char["x1"] - char["x0"]) * (char["bottom"] - char["top"]) for char in (a, b))
    return wide * high / smaller


def _outside_frame(data):
    """Text beyond the frame's right, top and bottom, where a printer could cut it off."""
    with opened(data) as pdf:
        return [
            char["text"]
            for page in pdf.pages
            for char in page.chars
            if char["x1"] > float(page.width) - 8 * MM_PT
            or char["bottom"] > float(page.height) - 7.5 * MM_PT
            or char["top"] < 8 * MM_PT
        ]


# ── Numbers ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_every_figure_of_the_tables_is_printed():
    shown = sheet()
    text = text_of(road_pdf())
    for row in shown.rows:
        line = next(line for line in text.splitlines() if row.label in line and row.after in line)
        assert f"{row.before} {row.after} {row.change} {row.uncertainty}" in line
        assert line.endswith("real" if row.real else "within error")
    for side in shown.side_rows:
        assert f"{side.left} {side.right} {side.difference} {side.uncertainty}" in text


def test_saddle_height_measures_on_paper_what_it_says():
    """The line from the bottom bracket to the saddle datum, in points, times the scale that is stated."""
    with opened(road_pdf()) as pdf:
        lines = pdf.pages[0].lines
    assert "1 : 10" in text_of(road_pdf())
    lengths_mm = [math.hypot(line["x1"] - line["x0"], line["bottom"] - line["top"]) / MM_PT for line in lines]
    assert min(abs(length * 10 - SADDLE_HEIGHT_MM) for length in lengths_mm) < 0.1


@pytest.mark.parametrize(("unit", "step_mm"), [("mm", 10.0), ("in", 25.4)])
def test_the_ruled_edge_is_a_true_tape(unit, step_mm):
    with opened(fit_sheet_pdf(sheet(style=NumberStyle(unit)))) as pdf:
        ticks = [line for line in pdf.pages[0].lines if line["x1"] < 16 * MM_PT and line["height"] == 0]
    longest = max(line["width"] for line in ticks)
    long_ones = sorted(float(line["top"]) for line in ticks if line["width"] > 0.98 * longest)
    gaps = {round((below - above) / MM_PT, 2) for above, below in pairwise(long_ones)}
    assert gaps == {step_mm}


def test_inches_are_printed_as_inches():
    text = text_of(fit_sheet_pdf(sheet(style=NumberStyle("in", ","))))
    assert "Saddle height 29,17 29,64 +0,47" in text
    assert "Lengths in inches." in text


def test_real_is_told_by_a_word():
    rows = (
        PositionRow("One", "1.0", "9.0", "+8.0", "4.2", real=True),
        PositionRow("Two", "1.0", "2.0", "+1.0", "4.2", real=False),
        PositionRow("Three", "–", "2.0", "–", "–", real=None),
    )
    lines = {line.split()[0]: line for line in text_of(fit_sheet_pdf(sheet(rows=rows))).splitlines() if line}
    assert lines["One"].endswith(" real")
    assert lines["Two"].endswith(" within error")
    assert lines["Three"].endswith(" –")


def test_every_section_is_printed():
    text = columns_of(
        fit_sheet_pdf(
            sheet(
                changes=(ComponentChange("Stem", "110 mm", "90 mm"), ComponentChange("Saddle", "", "new")),
                parts=("Bar tape", "Cleats"),
                discomfort=(DiscomfortRow("Hands, both", "4", ""),),
                notes="First line.\nSecond line.",
                safety=(SafetyItem("Brakes stop the bike", done=True), SafetyItem("Steering turns free", done=False)),
                cautions=("Do not heat carbon.",),
            )
        )
    )
    for wanted in (
        "Stem 110 mm → 90 mm", "Saddle – → new", "• Bar tape", "• Cleats", "Hands, both 4 –", "First line.", "Second line.",
        "☑ Brakes stop the bike", "☐ Steering turns free", "! Do not heat carbon.", "Re-check on 2 December 2026",
    ):  # fmt: skip
        assert wanted in text


def test_the_title_block_names_studio_rider_bike_and_session():
    text = text_of(road_pdf())
    for wanted in (
        "Wrenfield Cycle Fitting", "4 Tannery Row, Wrenfield · +44 20 7946 0018", "Ines Calder", "Blue road bike",
        "54 cm, 2 × 11", "Full fit", "Tom Arkwright", "18 November 2026", "1 : 10", "1 of 2", "2 of 2",
    ):  # fmt: skip
        assert wanted in text


def test_the_standing_cautions_are_there_unless_replaced():
    text = columns_of(fit_sheet_pdf(BARE)).replace("\n", " ")
    for word in ("qualified mechanic", "torque tool", "minimum-insertion mark", "doctor", "estimates"):
        assert word in text


def test_words_may_come_in_another_language():
    words = Words(component_changes="Geänderte Teile", real="echt", drawing=DrawingWords(scale="Maßstab"))
    text = text_of(fit_sheet_pdf(sheet(words=words, language="de")))
    assert "Geänderte Teile" in text
    assert "Maßstab 1 : 10" in text
    assert "Component changes" not in text


# ── The file ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_metadata_and_viewer_preferences():
    reader = PdfReader(BytesIO(fit_sheet_pdf(sheet(language="de", rider=Rider("森田 一義", "Morita Kazuyoshi")))))
    assert reader.metadata.title == "Fit sheet: Morita Kazuyoshi, 18 November 2026"
    assert reader.metadata.author == "Wrenfield Cycle Fitting"
    assert reader.trailer["/Root"]["/Lang"] == "de"
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_the_same_sheet_gives_the_same_bytes_whatever_was_printed_before():
    first = fit_sheet_pdf(sheet())
    fit_sheet_pdf(sheet(rider=Rider("森田 שרה")))
    assert fit_sheet_pdf(sheet()) == first
    assert fit_sheet_pdf(sheet(notes="Another note.")) != first


def test_the_same_sheet_gives_the_same_bytes_in_every_process():
    code = (
        "import hashlib; from tests.core.sheet_examples import *; from sessions.sheets.fit_sheet import fit_sheet_pdf;"
        "print(hashlib.sha256(fit_sheet_pdf(sheet(rider=Rider('Łucja 森田')))).hexdigest())"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={"PYTHONHASHSEED": seed},
            cwd=Path(__file__).parents[2],
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        for seed in ("1", "2")
    }
    assert found == {hashlib.sha256(fit_sheet_pdf(sheet(rider=Rider("Łucja 森田")))).hexdigest()}


def test_sheets_printed_at_once_do_not_mix():
    shown = [sheet(), sheet(AERO_BEFORE, AERO_AFTER, rider=Rider("王小明"))]
    alone = [fit_sheet_pdf(each) for each in shown]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(fit_sheet_pdf, shown * 6))
    assert together == alone * 6


# ── Anything at all ──────────────────────────────────────────────────────────────────────────────────────────────────


@given(name=text_of_any_kind, notes=text_of_any_kind, before=nonsense_points, after=nonsense_points)
@settings(max_examples=25)
def test_any_text_and_any_points_print(name, notes, before, after):
    shown = replace(
        BARE, rider=Rider(name, name), notes=notes, changes=(ComponentChange(name, notes),), points_before=before,
        points_after=after, bike=Bike(notes), parts=(name,), next_visit=notes, service=name,
    )  # fmt: skip
    data = fit_sheet_pdf(shown)
    assert data.startswith(b"%PDF")
    assert pages_of(data) >= 1


@given(before=likely_bikes(), after=likely_bikes())
@settings(max_examples=8)
def test_any_likely_bike_is_printed_inside_the_frame(before, after):
    assert _outside_frame(fit_sheet_pdf(sheet(before, after))) == []
