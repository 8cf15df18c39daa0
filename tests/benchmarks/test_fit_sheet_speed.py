"""Printing a fit sheet against a bare page of the print library with as much on it."""

import statistics
import time
from io import BytesIO

import pdfplumber
import pytest
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas

from sessions.sheets.fit_sheet import fit_sheet_pdf
from sessions.sheets.fonts import runs
from tests.core.sheet_examples import sheet

ROUNDS = 41
ROWS = 55


def contents(data):
    """Straight strokes, and the lines of text with their words, page by page."""
    with pdfplumber.open(BytesIO(data)) as pdf:
        return [(len(page.lines), [line["text"] for line in page.extract_text_lines()]) for page in pdf.pages]


def bare_pages(pages):
    """The same number of strokes, and the same rows of text, word by word, in the same embedded font."""
    font = runs("x", "regular")[0][0]
    target = BytesIO()
    canvas = Canvas(target, pagesize=A4, invariant=1, pageCompression=1)
    for strokes, rows in pages:
        canvas.setFont(font, 8)
        for number in range(strokes):
            canvas.line(40, 20 + number % 780, 60, 20 + number % 780)
        for number, row in enumerate(rows):
            for place, word in enumerate(row.split()):
                canvas.drawString(70 + 30 * place, 800 - 10 * number, word)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


def seconds(work):
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


@pytest.mark.benchmark
def test_fit_sheet_costs_no_more_than_four_bare_pages():
    shown = sheet()
    pages = contents(fit_sheet_pdf(shown))
    assert sum(len(rows) for _, rows in pages) >= ROWS
    bare_pages(pages)
    pairs = [(seconds(lambda: fit_sheet_pdf(shown)), seconds(lambda: bare_pages(pages))) for _ in range(ROUNDS)]
    ratio = statistics.median(sheet_s / bare_s for sheet_s, bare_s in pairs)
    print(f"RATIO fit_sheet_pdf_vs_bare_page {ratio:.2f} <=4")  # noqa: T201 - the line is what the benchmark is for
    assert ratio <= 4
