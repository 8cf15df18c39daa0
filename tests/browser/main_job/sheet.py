"""The fit sheet as a page and as a PDF, read back row by row."""

import re
from io import BytesIO

import pdfplumber
from playwright.sync_api import expect

from tests.browser.main_job import bench, readings, story

POSITION, SIDES = re.compile("^Position before and after"), re.compile("^Left and right")


def rows(page, name):
    """The cells of a table, by what their row is called."""
    found = page.get_by_role("table", name=name).locator("tbody tr")
    expect(found.first).to_be_visible()
    return {row.locator("th").inner_text(): row.locator("td").all_inner_texts() for row in found.all()}


def check_rows(page):
    """Every figure of both tables is the core's, and every reading stands there as it was typed; return the rows."""
    position, sides = rows(page, POSITION), rows(page, SIDES)
    expected = readings.position_rows()
    assert {label: cells[1:] for label, cells in position.items()} == {label: expected[label] for label in position}
    assert sides == readings.side_rows()
    for key in readings.BEFORE:
        assert position[readings.label(key)][1:3] == readings.typed_figures(key), key
    return position, sides


def check_words(page):
    """Beside the figures stands what was changed, felt, ordered, checked and agreed."""
    main = page.get_by_role("main")
    for words in (
        story.RIDER,
        story.BIKE,
        "worn past their marker → new, same float",
        "Stem 90 mm, 6° up: to raise the hoods further",
        "Two easy rides before a long one.",
        "12 May 2026: whether the knee stays quiet",
        f"Stem on the steerer: {bench.TORQUE}",
    ):
        expect(main).to_contain_text(words)
    assert rows(page, "Discomfort, 0 to 10")[story.SORE] == [str(story.SORE_SCORE), str(story.SORE_NOW)]


def download(page):
    """The bytes behind the page's own link to the PDF."""
    link = page.get_by_role("link", name="PDF, A4").get_attribute("href")
    answer = page.context.request.get(link)
    assert answer.headers["content-type"] == "application/pdf"
    return answer.body()


def check_pdf(data, position, sides):
    """The print has two pages at most, the rider's name, and every row of the page with all its figures."""
    with pdfplumber.open(BytesIO(data)) as pdf:
        assert len(pdf.pages) <= 2
        text = "\n".join(page.extract_text() for page in pdf.pages)
    assert text.count(story.RIDER) >= 1
    for label, (letter, *figures) in position.items():
        assert " ".join([letter, label, *figures]).strip() in text
    for label, figures in sides.items():
        assert " ".join([label, *figures]) in text
    assert f"{story.SORE} {story.SORE_SCORE} {story.SORE_NOW}" in text
    assert f"Stem on the steerer: {bench.TORQUE}" in text
