"""Slips in columns: none lost, none out of order, no heading left alone at the foot of a column."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from sessions.sheets.flow import Slip, balanced, filled, paged, used_mm

ROOM_MM = 100.0


def nothing(pen, left, top):
    """Draw nothing."""


@st.composite
def slips(draw):
    heading = st.builds(Slip, st.just(8.0), st.just(nothing), st.just(True), st.just(3.0))
    row = st.builds(Slip, st.floats(2, 30), st.just(nothing))
    return draw(st.lists(heading | row, max_size=60))


def order(placed):
    return [(place.column, place.down_mm) for place in placed]


@given(slips(), st.integers(1, 3))
def test_columns_are_filled_in_order_and_never_overflow(pieces, columns):
    placed = filled(pieces, ROOM_MM, columns)
    assert [place.slip for place in placed] == pieces[: len(placed)]
    assert order(placed) == sorted(order(placed))
    assert all(place.column < columns and place.down_mm + place.slip.height_mm <= ROOM_MM for place in placed)


@given(slips(), st.integers(1, 3))
def test_slips_of_a_column_do_not_overlap(pieces, columns):
    placed = filled(pieces, ROOM_MM, columns)
    for now, later in pairwise(placed):
        if now.column == later.column:
            assert later.down_mm >= now.down_mm + now.slip.height_mm - 1e-9


@given(slips())
def test_balancing_keeps_the_same_slips_and_is_never_taller(pieces):
    full, even = filled(pieces, ROOM_MM, 2), balanced(pieces, ROOM_MM, 2)
    assert [place.slip for place in even] == [place.slip for place in full]
    assert used_mm(even) <= ROOM_MM


@given(slips(), st.floats(0, ROOM_MM))
def test_pages_hold_every_slip_once_and_in_order(pieces, first_mm):
    pages = paged(pieces, lambda page: ROOM_MM if page else first_mm, 2)
    assert [place.slip.height_mm for page in pages for place in page] == [piece.height_mm for piece in pieces]


@given(slips())
def test_a_heading_never_ends_a_page_that_goes_on(pieces):
    pieces = [*pieces, Slip(2.0, nothing)]
    pages = paged(pieces, lambda page: ROOM_MM, 2)
    longest = max(sum(piece.height_mm for piece in run) for run in _glued_runs(pieces))
    if longest < ROOM_MM:
        assert not any(page[-1].slip.glued for page in pages[:-1])


def _glued_runs(pieces):
    run = []
    for piece in pieces:
        run.append(piece)
        if not piece.glued:
            yield run
            run = []
    yield run


def test_what_is_taller_than_a_page_still_finds_a_place():
    assert len(paged([Slip(500.0, nothing)] * 3, lambda page: ROOM_MM, 2)) == 4
