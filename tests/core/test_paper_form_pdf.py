"""The paper form of the pre-visit check, read back from the PDF."""

from dataclasses import replace
from io import BytesIO

import pdfplumber
import pytest
from hypothesis import given, settings
from pypdf import PdfReader

from sessions.sheets.content import Studio
from sessions.sheets.paper_form import PaperArea, PaperBlank, PaperCheck, PaperForm, PaperGroup, paper_form_pdf
from tests.strategies_drawing import text_of_any_kind

POST = PaperCheck(
    "Does the seat post slide in the frame?",
    why="A post that will not move locks the saddle's height.",
    steps=("Mark the height with tape.", "Loosen the clamp.", "Turn the saddle gently."),
    tools="5 mm hex key, tape",
    minutes=4,
    caution="Do not heat carbon.",
    answers=("It slides", "Only with force", "It does not move"),
)
LEVERS = PaperCheck(
    "How high do the lever tips stand over the floor?",
    answers=("They match", "They differ"),
    blanks=(PaperBlank("Left lever tip", "mm"), PaperBlank("Right lever tip", "mm")),
)
FORM = PaperForm(
    Studio("Wrenfield Cycle Fitting", phone="+44 20 7946 0018"),
    (PaperGroup("Seat", (POST,)), PaperGroup("Front", (LEVERS,))),
    rider="Łucja 森田",
    bike="Blue road bike",
    session="18 November 2026, 10:00",
    intro="Look over your bike at home.",
    areas=(PaperArea("Knee, front"), PaperArea("Lower back", sided=False)),
)


def read(data):
    with pdfplumber.open(BytesIO(data)) as pdf:
        return "\n".join(half.extract_text() for page in pdf.pages for half in halves(page))


def halves(page):
    """The two columns of a page, and its title block."""
    middle, foot = float(page.width) / 2 + 10, float(page.height) - 52
    yield page.crop((40, 0, middle, foot))
    yield page.crop((middle, 0, float(page.width), foot))
    yield page.crop((0, foot, float(page.width), float(page.height)))


def boxes(data):
    """Tick boxes: squares of three millimetres."""
    with pdfplumber.open(BytesIO(data)) as pdf:
        rects = [rect for page in pdf.pages for rect in page.rects]
    return [rect for rect in rects if abs(rect["width"] - rect["height"]) < 0.01 and rect["width"] < 12]


def test_everything_a_rider_needs_is_on_it():
    text = read(paper_form_pdf(FORM)).replace("\n", " ")
    for wanted in (
        "Pre-visit check", "Wrenfield Cycle Fitting", "Look over your bike at home.", "Łucja 森田", "Blue road bike",
        "1. Does the seat post slide in the frame?", "A post that will not move", "Tools: 5 mm hex key, tape · 4 min",
        "1 Mark the height with tape.", "2 Loosen the clamp.", "! Do not heat carbon.", "It does not move",
        "could not do it", "2. How high do the lever tips stand", "Left lever tip", "What hurts", "Knee, front", "left",
        "Lower back", "middle", "Anything else we should know", "qualified mechanic", "1 of 1",
    ):  # fmt: skip
        assert wanted in text, wanted


def test_every_answer_and_every_side_has_a_box_of_its_own():
    answers = len(POST.answers) + 1 + len(LEVERS.answers) + 1
    assert len(boxes(paper_form_pdf(FORM))) == answers + 2 + 1


def test_blanks_are_lines_with_their_unit():
    with pdfplumber.open(BytesIO(paper_form_pdf(FORM))) as pdf:
        page = pdf.pages[0]
        units = [word for word in page.extract_words() if word["text"] == "mm" and word["x0"] > 100]
        assert len(units) == 2
        for unit in units:
            before = [
                line
                for line in page.lines
                if line["height"] == 0 and abs(line["top"] - unit["bottom"]) < 6 and 0 < unit["x0"] - line["x1"] < 12
            ]
            assert len(before) == 1


def test_an_unknown_rider_gets_room_to_write():
    text = read(paper_form_pdf(replace(FORM, rider="", bike="", session="")))
    assert "–" not in text.split("Sheet")[-1]


@pytest.mark.parametrize(("paper", "width_mm"), [("A4", 210.0), ("Letter", 215.9)])
def test_a_whole_catalogue_runs_over_pages_without_cutting_a_check(paper, width_mm):
    checks = tuple(replace(POST, question=f"Question {n} about the bike?") for n in range(30))
    data = paper_form_pdf(replace(FORM, groups=(PaperGroup("All", checks),), paper=paper))
    reader = PdfReader(BytesIO(data))
    assert float(reader.pages[0].mediabox.width) == pytest.approx(width_mm * 72 / 25.4, abs=0.01)
    assert len(boxes(data)) == 30 * 4 + 3
    with pdfplumber.open(BytesIO(data)) as pdf:
        for page in pdf.pages:
            text = page.extract_text()
            assert text.count("about the bike?") == text.count("It does not move")


def test_a_check_taller_than_a_page_is_printed_all_the_same():
    endless = replace(POST, steps=tuple(f"Step {n} of many." for n in range(400)))
    text = read(paper_form_pdf(replace(FORM, groups=(PaperGroup("Seat", (endless,)),))))
    assert [n for n in range(400) if f"Step {n} of many." not in text] == []


def test_the_same_form_gives_the_same_bytes():
    assert paper_form_pdf(FORM) == paper_form_pdf(FORM)


def test_it_is_not_to_be_scaled():
    root = PdfReader(BytesIO(paper_form_pdf(replace(FORM, language="cs")))).trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert root["/Lang"] == "cs"


@given(text_of_any_kind)
@settings(max_examples=25)
def test_any_text_prints(text):
    check = PaperCheck(text, text, (text,), text, 3, text, (text, text), (PaperBlank(text, text[:5]),))
    form = replace(FORM, groups=(PaperGroup(text, (check,)),), rider=text, intro=text, areas=(PaperArea(text),))
    assert paper_form_pdf(form).startswith(b"%PDF")
