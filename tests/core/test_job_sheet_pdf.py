"""The job sheet, read back from the PDF."""

from dataclasses import replace
from io import BytesIO

import pdfplumber
import pytest
from hypothesis import given, settings
from pypdf import PdfReader

from sessions.sheets.content import Bike, Rider, Studio
from sessions.sheets.job_sheet import CODE_MM, JobLine, JobSheet, job_sheet_pdf
from sessions.sheets.qr import QUIET_MODULES, qr_modules
from tests.strategies_drawing import text_of_any_kind

ADDRESS = "https://fit.wrenfield.example/w/kQ3sd8sjd83jd8sj.0123456789abcdef01234567/"
POST = JobLine(
    "Seatpost stuck in the frame",
    wrong="The rider, at home: “It does not move at all”.",
    needs=("Saddle height: the post must slide freely.",),
    work="A workshop frees the stuck post",
    part="A seatpost of the same diameter",
    start_by="Wednesday 2 December",
    caution="Never heat carbon.",
)
HEADSET = JobLine("Headset play", not_to_ride=True, answers=("25 Nov, 14:02, Ada: needs a part. Bearings ordered.",))
SHEET = JobSheet(
    Studio("Wrenfield Cycle Fitting", ("1 Millrace Yard",), "+44 20 7946 0018", "studio@wrenfield.example"),
    Bike("Blue road bike", "road, 54"),
    "12",
    "Lock Gate Repairs",
    "Wed 9 Dec 2026, 10:00",
    (POST, HEADSET),
    address=ADDRESS,
    start_by="Wednesday 2 December",
    note="Steel frame.",
)


def read(data):
    with pdfplumber.open(BytesIO(data)) as pdf:
        return "\n".join(page.extract_text() for page in pdf.pages)


def boxes(data):
    """Tick boxes: squares of three millimetres with an outline only."""
    with pdfplumber.open(BytesIO(data)) as pdf:
        rects = [rect for page in pdf.pages for rect in page.rects if rect["stroke"] and not rect["fill"]]
    return [rect for rect in rects if abs(rect["width"] - rect["height"]) < 0.01 and rect["width"] < 12]


def test_everything_a_mechanic_needs_is_on_one_page():
    data = job_sheet_pdf(SHEET)
    text = read(data)
    assert len(PdfReader(BytesIO(data)).pages) == 1
    for wanted in (
        "Job sheet 12", "for Lock Gate Repairs", "Start by Wednesday 2 December. The bike is measured on Wed 9 Dec 2026, 10:00.",
        "Seatpost stuck in the frame", "It does not move at all", "the post must slide freely", "frees the stuck post",
        "A seatpost of the same diameter", "Never heat carbon.", "Headset play", "Not to be ridden until a qualified mechanic",
        "Ada: needs a part. Bearings ordered.", "done", "needs a part", "cannot be done", "Name and date", "Steel frame.",
        "+44 20 7946 0018", "studio@wrenfield.example", "figure printed on the part", "torque tool", "minimum-insertion mark",
        "Blue road bike", "1 of 1", ADDRESS,
    ):  # fmt: skip
        assert wanted in text, wanted


def test_each_line_has_three_boxes_to_tick():
    assert len(boxes(job_sheet_pdf(SHEET))) == 2 * 3


def test_of_the_rider_only_what_they_share_is_printed():
    text = read(job_sheet_pdf(SHEET))
    assert "contact is not shared" in text
    assert "Rider\n" not in text
    shared = replace(SHEET, rider=Rider("森田 Łucja", "Lucja Morita"), rider_contact=("+44 191 498 0111",))
    text = read(job_sheet_pdf(shared))
    for wanted in ("森田 Łucja", "Lucja Morita", "The rider: +44 191 498 0111"):
        assert wanted in text, wanted
    assert "not shared" not in text


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_long_list_flows_on_without_cutting_a_line(paper):
    lines = tuple(replace(POST, title=f"Line {number} of many") for number in range(14))
    data = job_sheet_pdf(replace(SHEET, lines=lines, paper=paper))
    with pdfplumber.open(BytesIO(data)) as pdf:
        texts = [page.extract_text() for page in pdf.pages]
    assert len(texts) > 1
    assert "".join(texts).count("of many") == 14
    for number, text in enumerate(texts, start=1):
        assert text.count("of many") == text.count("Never heat carbon.")
        assert f"{number} of {len(texts)}" in text
    assert len(boxes(data)) == 14 * 3


def test_the_same_sheet_gives_the_same_bytes():
    assert job_sheet_pdf(SHEET) == job_sheet_pdf(SHEET)


def dark_at(rects, x, y):
    return any(rect["x0"] <= x <= rect["x1"] and rect["top"] <= y <= rect["bottom"] for rect in rects)


def test_the_printed_code_is_the_address_module_for_module():
    """Dark where the code is dark, at the centre of every module, and nothing in the quiet zone around it."""
    modules = qr_modules(ADDRESS)
    with pdfplumber.open(BytesIO(job_sheet_pdf(SHEET))) as pdf:
        page = pdf.pages[0]
        rects = [rect for rect in (*page.rects, *page.curves) if rect["fill"] and rect["x0"] > page.width - 130]
    left, top = min(rect["x0"] for rect in rects), min(rect["top"] for rect in rects)
    step = CODE_MM * 72 / 25.4 / (len(modules) + 2 * QUIET_MODULES)
    for row, line in enumerate(modules):
        for column, dark in enumerate(line):
            assert dark_at(rects, left + (column + 0.5) * step, top + (row + 0.5) * step) is dark, (row, column)
    assert max(rect["x1"] for rect in rects) - left == pytest.approx(len(modules) * step, abs=0.5)


@given(text_of_any_kind)
@settings(max_examples=20)
def test_any_text_prints(text):
    line = JobLine(text, text, (text, text), text, text, text, text, answers=(text,))
    sheet = replace(SHEET, lines=(line,), note=text, workshop=text, rider=Rider(text), rider_contact=(text,))
    assert job_sheet_pdf(sheet).startswith(b"%PDF")
