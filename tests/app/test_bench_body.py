"""Body measures: limits with reasons, what rarely goes together, and the published heights side by side."""

import html
import re

import pytest

from sessions.geometry.segments import segments
from sessions.geometry.stance import Stance
from sessions.geometry.starting_height import starting_heights
from sessions.selectors.bench.positions import positions_of
from sessions.selectors.bench.starting_heights import starting_heights_of
from sessions.sheets.numbers import NumberStyle
from tests.app.bench_help import BEFORE, HTMX, address, begun, closed, keep

pytestmark = pytest.mark.django_db


@pytest.fixture
def record(fit_session):
    """An open record."""
    return begun(fit_session)


def text_of(response):
    """What a page says, without its markup."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def send(browser, record, key, typed, *, htmx=True, unit="mm"):
    """Send one measure as the page does."""
    data = {f"{key}-value": typed, "unit": unit}
    return browser.post(address("measure", record, key), data, headers=HTMX if htmx else {})


def test_a_measure_saves_by_itself_and_brings_the_heights(fitter_client, record):
    """The rules stand side by side as soon as the inseam is known, and none is called right."""
    response = send(fitter_client, record, "inseam", "842")
    assert response.status_code == 200
    assert response["HX-Reswap"] == "none"
    assert record.body_measures.get().value_mm == 842
    said = text_of(response)
    assert "none of them is right by itself" in said
    assert "Hamley & Thomas 1967" in said
    assert "Holmes, Pruitt & Whalen 1994" in said
    assert "is no prediction of pedalling" in said


@pytest.mark.parametrize(
    ("typed", "unit", "kept_mm"),
    [("842", "mm", 842), ("84,2 cm", "mm", 842), ("33 1/8", "in", 841.375), ("842 mm", "in", 842)],
)
def test_measures_take_millimetres_or_inches(fitter_client, record, typed, unit, kept_mm):
    """A bare number is in the page's unit."""
    assert send(fitter_client, record, "inseam", typed, unit=unit).status_code == 200
    assert record.body_measures.get().value_mm == pytest.approx(kept_mm)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("84.2", "looks like centimetres: that would be 842 mm."),
        ("8420", "looks like a digit too many: 842 mm would be possible."),
        ("-842", "Is the sign right?"),
        ("tall", "is not a length"),
        ("NaN", "is not a length"),
        ("1e999", "is not a length"),
        ("9" * 500, "far too long"),
        ("<script>", "is not a length"),
        ("84\x002", "cannot be printed"),
    ],
)
@pytest.mark.parametrize("htmx", [True, False], ids=["htmx", "plain"])
def test_what_no_body_measures_is_refused_with_the_reason(fitter_client, record, typed, said, htmx):
    """The text stays in the field, with what was probably meant beside it."""
    response = send(fitter_client, record, "inseam", typed, htmx=htmx)
    assert response.status_code == 422
    assert said in text_of(response)
    field = re.search(r'<input[^>]*name="inseam-value"[^>]*>', response.content.decode())[0]
    assert typed in html.unescape(field)
    assert not record.body_measures.exists()


def test_unknown_measures_are_not_found(fitter_client, record):
    """Whatever the address says."""
    path = address("measure", record, "inseam")
    for key in ("halo", "\x00", "🦵"):
        assert fitter_client.post(path.replace("inseam", key), {}, headers=HTMX).status_code == 404


def test_all_measures_are_kept_by_the_button(fitter_client, record):
    """Without JavaScript: what is right is stored, what is not comes back as typed."""
    sent = {"inseam-value": "842", "stature-value": "1790", "thigh-value": "long", "unit": "mm"}
    response = fitter_client.post(address("body", record), sent)
    assert response.status_code == 422
    assert 'value="long"' in response.content.decode()
    assert set(record.body_measures.values_list("measure", flat=True)) == {"inseam", "stature"}
    assert fitter_client.post(address("body", record), sent | {"thigh-value": "412"}).status_code == 302
    assert record.body_measures.count() == 3


def test_measures_that_rarely_go_together_are_pointed_out(fitter_client, record):
    """Not refused: people differ. But it says which two to take again."""
    send(fitter_client, record, "stature", "1750")
    said = text_of(send(fitter_client, record, "inseam", "1030"))
    assert "Inseam is 0.59 of the stature; almost everyone lies between 0.40 and 0.57." in said
    assert record.body_measures.count() == 2


def test_a_measure_can_be_taken_back(fitter_client, record):
    """An emptied field forgets it, and the heights go."""
    send(fitter_client, record, "inseam", "842")
    sent = {"inseam-value": "", "initial-inseam-value": "842", "unit": "mm"}
    response = fitter_client.post(address("measure", record, "inseam"), sent, headers=HTMX)
    assert "Measure the inseam" in text_of(response)
    assert not record.body_measures.exists()


def test_the_heights_are_the_cores_for_this_riders_bike(record):
    """Crank and effective seat angle come from what was measured, the leg from the measures that were taken."""
    keep(record, "before", BEFORE)
    positions = positions_of(record)
    measures = {"inseam": 842.0, "thigh": 412.0}
    shown = starting_heights_of(measures, positions, record.fit_session.bike, NumberStyle())
    angle = positions.before.dimension("seat_angle").value
    rules = starting_heights(segments(842, thigh_mm=412), Stance(crank_mm=172.5, seat_angle_deg=angle))
    assert [row.label for row in shown.rows[1:]] == [rule.label for rule in rules]
    assert [(row.low, row.high) for row in shown.rows[1:]] == [
        (f"{rule.low_mm:.1f}", f"{rule.high_mm:.1f}") for rule in rules
    ]
    assert shown.rows[0].value == "728.0"
    assert not any("is taken as" in sentence for sentence in shown.assumptions)
    assert any("shank, ankle height, foot length" in sentence for sentence in shown.assumptions)


def test_what_was_assumed_is_said(record):
    """Until the bike is measured the usual crank and seat angle stand in, by name."""
    shown = starting_heights_of({"inseam": 842.0}, positions_of(record), record.fit_session.bike, NumberStyle())
    said = " ".join(shown.assumptions)
    assert "Crank length is taken as 172.5 mm" in said
    assert "seat angle is taken as 73°" in said
    assert starting_heights_of({}, positions_of(record), record.fit_session.bike, NumberStyle()) is None


def test_a_closed_record_keeps_its_measures(fitter_client, record):
    """In place nothing is swapped; a plain page comes back as it was typed."""
    closed(record)
    assert send(fitter_client, record, "inseam", "842").status_code == 409
    plain = fitter_client.post(address("body", record), {"inseam-value": "842", "unit": "mm"})
    assert plain.status_code == 409
    assert 'value="842"' in plain.content.decode()
    assert not record.body_measures.exists()


def test_the_page_asks_the_database_the_same_however_much_was_measured(
    fitter_client, record, django_assert_num_queries
):
    """One query for measures, one for readings."""
    with django_assert_num_queries(6):
        fitter_client.get(address("body", record))
    keep(record, "before", BEFORE)
    for key, value in (("inseam", "842"), ("stature", "1790"), ("thigh", "412")):
        send(fitter_client, record, key, value)
    with django_assert_num_queries(6):
        fitter_client.get(address("body", record))
