"""The owner's figures by numbers: what is counted, what a share is worth, who put what right, what a cell may hold."""

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.triage.answers import Ruling
from intake.triage.verdict import Verdict
from sessions.figures.csv_lines import FORMULA_STARTS, csv_lines
from sessions.figures.put_right import Traces, all_put_right, put_right_by
from sessions.figures.shares import Share
from sessions.figures.tables import (
    NOT_KEPT,
    accuracy,
    all_kept,
    lighter_verdicts,
    months_kept,
    put_right_rows,
    verdict_table,
)
from sessions.figures.values import ForecastShape, HeldSession, Moment, PutRightBy, shape_of
from sessions.sheets.forecast_pairs import forecast_pairs
from sessions.sheets.scene import Marker, Polyline, Text
from sessions.sheets.svg import scene_svg
from sessions.sheets.verdict_marks import verdict_mark
from sessions.sheets.verdict_moves import verdict_moves

VERDICTS = st.sampled_from([verdict.value for verdict in Verdict])
SOME_SHAPE = ForecastShape(mean_min=20.0, low_min=5, high_min=40, p90_min=35)


def a_session(number=1, day=date(2026, 3, 9), planned_min=90, slack_min=15, **told):
    """A held session."""
    return HeldSession(number, day, "Full fit", planned_min, slack_min, **told)


def judged(booking=None, three_days=None, day=None):
    """A session with these verdicts; those left out were not kept."""
    said = zip(Moment, (booking, three_days, day), strict=True)
    return a_session(verdicts={moment: verdict for moment, verdict in said if verdict})


@pytest.mark.parametrize(
    ("lost_min", "kept_min"), [(None, None), (0, 90), (15, 90), (16, 89), (60, 45), (105, 0), (600, 0)]
)
def test_minutes_kept(lost_min, kept_min):
    """What is lost within the slack costs nothing; more than there was cannot be lost."""
    assert a_session(actual_min=lost_min).kept_min == kept_min


def test_verdicts_are_counted_at_each_moment_and_between():
    """Three sessions, one of them booked before moments were kept."""
    table = verdict_table(
        [judged("ask_rider", "fix_first", "clear"), judged("ask_rider", "ask_rider", "clear"), judged()]
    )
    assert table.total == 3
    assert {key: count for key, count in table.counts[Moment.BOOKING].items() if count} == {"ask_rider": 2, NOT_KEPT: 1}
    assert {key: count for key, count in table.counts[Moment.DAY].items() if count} == {"clear": 2, NOT_KEPT: 1}
    assert table.moves[(Moment.BOOKING, "ask_rider", "fix_first")] == 1
    assert table.moves[(Moment.THREE_DAYS, "fix_first", "clear")] == 1


@given(st.lists(st.builds(judged, st.none() | VERDICTS, st.none() | VERDICTS, st.none() | VERDICTS)))
def test_every_session_is_counted_once_at_each_moment_and_moves_once_between(sessions):
    """Columns add up to all sessions; what leaves a verdict was there, what arrives is there."""
    table = verdict_table(sessions)
    for moment in Moment:
        assert sum(table.counts[moment].values()) == len(sessions)
    for first, second in [(Moment.BOOKING, Moment.THREE_DAYS), (Moment.THREE_DAYS, Moment.DAY)]:
        for key in table.counts[first]:
            left = sum(n for (moment, then, _now), n in table.moves.items() if (moment, then) == (first, key))
            came = sum(n for (moment, _then, now), n in table.moves.items() if (moment, now) == (first, key))
            assert (left, came) == (table.counts[first][key], table.counts[second][key])


def test_a_verdict_is_lighter_on_the_day_only_where_both_were_kept():
    """Graver, alike, lighter, and two that cannot be told."""
    sessions = [
        judged("clear", None, "fix_first"),
        judged("clear", None, "clear"),
        judged("do_not_ride", None, "bring_parts"),
        judged("fix_first"),
        judged(None, None, "clear"),
    ]
    assert lighter_verdicts(sessions) == Share(1, 3)


def test_forecasts_beside_what_happened():
    """Means, distance and band by hand: 20 expected twice, 10 and 50 lost."""
    told = accuracy(
        [
            a_session(forecast=SOME_SHAPE, actual_min=10),
            a_session(forecast=SOME_SHAPE, actual_min=50),
            a_session(forecast=SOME_SHAPE),
            a_session(actual_min=70),
        ]
    )
    assert (told.mean_forecast_min, told.mean_actual_min, told.typical_miss_min) == (20, 30, 20)
    assert told.within == Share(1, 2)
    nothing = accuracy([])
    assert (nothing.mean_forecast_min, nothing.mean_actual_min, nothing.typical_miss_min) == (None, None, None)
    assert nothing.within.share is None


@pytest.mark.parametrize(("minutes", "inside"), [(4, False), (5, True), (40, True), (41, False)])
def test_the_ends_of_the_band_belong_to_it(minutes, inside):
    """From the 5th to the 95th percentile, both included."""
    assert SOME_SHAPE.holds(minutes) is inside


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=60).filter(lambda cells: sum(cells) > 0.01))
def test_the_shape_of_a_distribution(cells):
    """Each percentile is the first minute by which that share is reached, also where rounding has left a little off 1."""
    shape = shape_of(cells, mean_min=1.0)
    for minutes, share in [(shape.low_min, 0.05), (shape.p90_min, 0.9), (shape.high_min, 0.95)]:
        assert sum(cells[: minutes + 1]) >= (share - 1e-5) * sum(cells)
        assert sum(cells[:minutes]) <= (share + 1e-5) * sum(cells)
    assert shape.low_min <= shape.p90_min <= shape.high_min


@pytest.mark.parametrize("cells", [[], [0.0, 0.0]])
def test_no_distribution_has_no_shape(cells):
    """An empty one is told, not guessed."""
    with pytest.raises(ValueError, match="above 0"):
        shape_of(cells, mean_min=0.0)


def test_months_weigh_every_minute_the_same():
    """March: 90 + 60 of 90 + 90; April: nothing closed; May: all."""
    sessions = [
        a_session(day=date(2026, 5, 2), actual_min=0, planned_min=35),
        a_session(day=date(2026, 3, 31), actual_min=15),
        a_session(day=date(2026, 3, 1), actual_min=45),
        a_session(day=date(2026, 4, 1)),
    ]
    march, may = months_kept(sessions)
    assert (march.month, march.sessions, march.planned_min, march.kept_min) == (date(2026, 3, 1), 2, 180, 150)
    assert march.share == pytest.approx(150 / 180)
    assert (may.month, may.share) == (date(2026, 5, 1), 1)
    assert all_kept([march, may]) == pytest.approx(185 / 215)
    assert all_kept([]) is None


@pytest.mark.parametrize(
    ("traces", "by"),
    [
        (Traces(), None),
        (Traces(ruling=Ruling.BRING_PART, bench_min=5), PutRightBy.PART),
        (Traces(bench_min=25), PutRightBy.STUDIO),
        (Traces(ruling=Ruling.STUDIO), PutRightBy.STUDIO),
        (Traces(ruling=Ruling.FIXED, done_by="rider", bench_min=9), PutRightBy.STUDIO),
        (Traces(ruling=Ruling.FIXED, done_by="rider"), PutRightBy.RIDER),
        (Traces(done_by="workshop"), PutRightBy.WORKSHOP),
        (Traces(ruling=Ruling.FIX_FIRST, done_by="workshop"), PutRightBy.WORKSHOP),
        (Traces(ruling=Ruling.FIXED), PutRightBy.UNSAID),
        (Traces(ruling=Ruling.FIX_FIRST), None),
        (Traces(ruling=Ruling.ACCEPT), None),
        (Traces(ruling=Ruling.NOT_A_FAULT, done_by="rider"), None),
    ],
)
def test_who_put_a_finding_right(traces, by):
    """Bench minutes outweigh a report; a part that came along outweighs both; what was no fault nobody put right."""
    assert put_right_by(traces) is by
    assert all_put_right({"a.b": traces}) == ({"a.b": by} if by else {})


def test_who_put_findings_right_in_how_many_sessions():
    """Two findings by a workshop in one session are one session."""
    workshop, rider = PutRightBy.WORKSHOP, PutRightBy.RIDER
    sessions = [a_session(put_right={"a": workshop, "b": workshop, "c": rider}), a_session(put_right={"a": workshop})]
    rows = {row.by: (row.findings, row.sessions) for row in put_right_rows(sessions)}
    assert rows == dict.fromkeys(PutRightBy, (0, 0)) | {workshop: (3, 2), rider: (1, 1)}


@pytest.mark.parametrize("start", FORMULA_STARTS)
def test_no_cell_begins_a_formula(start):
    """Whatever a spreadsheet would run or jump over stays text, in the header as in the rows."""
    text = "".join(csv_lines([f"{start}h"], [[f"{start}1+1"], [f" {start}"]]))
    rows = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))
    assert rows == [[f"'{start}h"], [f"'{start}1+1"], [f" {start}"]]


@given(st.lists(st.lists(st.text(st.characters(codec="utf-8")), min_size=2, max_size=2), max_size=5))
def test_what_is_written_is_read_back(rows):
    """Commas, quotes, line breaks, any script: RFC 4180, but for the apostrophe before a formula."""
    text = "".join(csv_lines(["a", "b"], rows))
    read = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))
    assert read == [["a", "b"], *([f"'{c}" if c.startswith(FORMULA_STARTS) else c for c in row] for row in rows)]


def test_numbers_days_and_nothing():
    """Negative numbers stay numbers, a day is written as ISO 8601 has it, nothing is nothing."""
    assert list(csv_lines(["x"], [[-2.5, date(2026, 3, 9), None, 7]]))[1] == "-2.5,2026-03-09,,7\r\n"


def test_every_verdict_has_a_mark_of_its_own():
    """Shapes, not colours: no two draw the same strokes."""
    marks = {verdict: tuple(verdict_mark(verdict, (0, 0), 4)) for verdict in (*Verdict, "")}
    assert len({repr(mark) for mark in marks.values()}) == len(marks)
    assert all(
        abs(x) <= 2.001
        for mark in marks.values()
        for item in mark
        if isinstance(item, Polyline)
        for x, _ in item.points
    )


@given(st.lists(st.builds(judged, st.none() | VERDICTS, st.none() | VERDICTS, st.none() | VERDICTS), max_size=40))
def test_the_drawing_of_moves_says_what_the_table_says(sessions):
    """Words for every lane, a count in every place, a band for every move, all of it inside the drawing."""
    table = verdict_table(sessions)
    scene = verdict_moves(table)
    written = [item.text for item in scene.items if isinstance(item, Text)]
    assert "Do not ride" in written
    assert ("Not kept" in written) == any(table.counts[moment][NOT_KEPT] for moment in Moment)
    bands = [item for item in scene.items if isinstance(item, Polyline) and item.role == "schematic"]
    assert len(bands) == len(table.moves)
    for band in bands:
        assert all(0 <= x <= scene.width_mm and 0 <= y <= scene.height_mm for x, y in band.points)
    assert scene_svg(scene).count("<svg") == 1


def test_the_drawing_of_forecasts_tells_inside_from_outside():
    """A dot or a diamond for each session; what lasted beyond the axis lies on its edge."""
    pairs = [(SOME_SHAPE, 10), (SOME_SHAPE, 41), (ForecastShape(90.0, 30, 400, 300), 500)]
    scene = forecast_pairs(pairs)
    kinds = sorted(item.kind for item in scene.items if isinstance(item, Marker))
    assert kinds == ["diamond"] * 3 + ["dot"] * 2  # one of each belongs to the legend
    assert all(0 <= item.at[1] <= scene.height_mm for item in scene.items if isinstance(item, Marker))
    assert scene.description.startswith("3 sessions")
    assert forecast_pairs([]).items
