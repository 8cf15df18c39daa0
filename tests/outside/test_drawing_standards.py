"""Scales, paper sizes and the inch of the printed sheets, against the standards that fix them."""

from io import BytesIO
from itertools import islice

import pytest
from pypdf import PdfReader

from sessions.sheets.content import Bike, FitSheet, Rider, Studio
from sessions.sheets.fit_sheet import fit_sheet_pdf
from sessions.sheets.numbers import MM_PER_INCH, NumberStyle
from sessions.sheets.scales import reductions

POINTS_PER_INCH = 72  # ISO 32000-1:2008, 8.3.2.3: the default unit of user space is 1/72 inch


def test_reduction_scales_are_those_of_iso_5455():
    """ISO 5455:1979, Technical drawings, Scales, clause 5: 1:2, 1:5, 1:10 and their decades, from memory."""
    published = [2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000]
    assert list(islice(reductions(), len(published))) == published


@pytest.mark.parametrize(
    ("paper", "width_mm", "height_mm"),
    [
        ("A4", 210.0, 297.0),  # ISO 216:2007, trimmed sizes, from memory
        ("Letter", 8.5 * 25.4, 11 * 25.4),  # ANSI/ASME Y14.1, size A, 8.5 × 11 inches, from memory
    ],
)
def test_pages_have_the_standard_size(paper, width_mm, height_mm):
    sheet = FitSheet(Studio("Wrenfield Cycle Fitting"), Rider("Bo"), Bike("Blue"), "18 November 2026", paper=paper)
    box = PdfReader(BytesIO(fit_sheet_pdf(sheet))).pages[0].mediabox
    found = tuple(float(side) / POINTS_PER_INCH * 25.4 for side in (box.width, box.height))
    assert found == pytest.approx((width_mm, height_mm), abs=0.005)


def test_the_inch_is_the_international_one():
    """NIST SP 811 (2008), appendix B.8: 1 inch = 25.4 mm, exactly."""
    assert MM_PER_INCH == 25.4
    assert NumberStyle("in").length(254.0) == "10.00"
