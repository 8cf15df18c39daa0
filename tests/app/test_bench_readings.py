"""The position pages: every value saves by itself, errors stand beside their field, and figures are the core's."""

import html
import re

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from sessions.forms.bench.readings import ReadingForm
from sessions.quantities import QUANTITIES, quantity
from sessions.selectors.bench.positions import UNCHANGED, positions_of
from sessions.services.bench.readings import Taken, Without, save_readings
from sessions.sheets.numbers import NumberStyle
from tests import factories
from tests.app.bench_help import AFTER, BEFORE, HTMX, address, begun, closed, keep

pytestmark = pytest.mark.django_db


@pytest.fixture
def record(fit_session):
    """An open record."""
    return begun(fit_session)


def text_of(response):
    """What a page says, without its markup."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def send(browser, record, key, value, *, phase="before", htmx=True, **more):
    """Send one reading as the page does."""
    slug = quantity(key).slug
    data = {f"{slug}-value": value, "unit": "mm"} | {f"{slug}-{name}": text for name, text in more.items()}
    data["unit"] = data.pop(f"{slug}-unit", data["unit"])
    return browser.post(address("reading", record, phase, key), data, headers=HTMX if htmx else {})


def values(record, phase="before"):
    """The readings in force."""
    rows = record.readings.filter(phase=phase, replaced_at__isnull=True)
    return {row.quantity: row.value for row in rows}


def test_a_value_saves_by_itself_and_leaves_its_field_alone(fitter_client, fitter_user, record):
    """The answer swaps what follows from it, never the input that somebody may be typing in again."""
    response = send(fitter_client, record, "saddle_height", "734")
    assert response.status_code == 200
    assert response["HX-Reswap"] == "none"
    row = record.readings.get()
    assert (row.value, row.sigma, row.instrument, row.as_typed, row.taken_by) == (734, 1.5, "tape", "734", fitter_user)
    body = response.content.decode()
    assert 'id="saved-saddle_height"' in body
    assert 'id="drawing-panel"' in body
    assert "<input" not in re.sub(r'<input type="hidden"[^>]*>', "", body)


@pytest.mark.parametrize(
    ("typed", "kept_mm"),
    [("734", 734), ("73,4 cm", 734), ("28 7/8 in", 733.425), (" 734 mm ", 734), ("\u200f734\u200f", 734), ("٧٣٤", 734)],
)
def test_lengths_are_typed_as_people_type_them(fitter_client, record, typed, kept_mm):
    """Comma or point, centimetres, fractions of an inch, the digits of any script."""
    assert send(fitter_client, record, "saddle_height", typed).status_code == 200
    assert record.readings.get().value == pytest.approx(kept_mm)


def test_a_bare_number_is_in_the_unit_of_the_page(fitter_client, record):
    """The page that was open says which unit it showed, whatever was chosen since in another window."""
    assert send(fitter_client, record, "saddle_height", "28.9", unit="in").status_code == 200
    assert record.readings.get().value == pytest.approx(28.9 * 25.4)
    refused = text_of(send(fitter_client, record, "saddle_height", "740", unit="in"))
    assert "740 looks like millimetres: type 740 mm." in refused
    assert "In inches: from 13.78 to 39.37." in refused


@pytest.mark.parametrize(("typed", "kept_deg"), [("-1,5", -1.5), ("−1.5°", -1.5), ("+2 deg", 2.0), ("0", 0.0)])
def test_angles_are_typed_with_either_minus(fitter_client, record, typed, kept_deg):
    """A true minus sign, a hyphen, with or without the degree sign."""
    assert send(fitter_client, record, "saddle_tilt", typed).status_code == 200
    assert record.readings.get().value == kept_deg


NASTY = {
    "word": "abc",
    "nan": "NaN",
    "infinite": "inf",
    "exponent": "1e999",
    "huge": "9" * 30,
    "too long": "9" * 400,
    "negative": "-734",
    "zero": "0",
    "a digit too few": "73",
    "a digit too many": "7340",
    "script": "<script>alert(1)</script>",
    "emoji": "🚲",
    "right to left": "\u05d0\u05d1",
    "null byte": "73\x004",
    "two numbers": "734 735",
    "division by zero": "1/0",
}


@pytest.mark.parametrize("typed", NASTY.values(), ids=NASTY.keys())
@pytest.mark.parametrize("htmx", [True, False], ids=["htmx", "plain"])
def test_what_cannot_be_is_refused_in_its_own_field(fitter_client, record, typed, htmx):
    """422, the text still in the field, an error linked to it, and nothing stored."""
    response = send(fitter_client, record, "saddle_height", typed, htmx=htmx)
    assert response.status_code == 422
    body = response.content.decode()
    field = re.search(r'<input[^>]*name="saddle_height-value"[^>]*>', body)[0]
    assert 'aria-invalid="true"' in field
    assert typed in html.unescape(field)
    assert "id_saddle_height-value_error" in field
    assert 'id="id_saddle_height-value_error"' in body
    assert "<script>alert" not in body
    assert not record.readings.exists()


def test_the_refusal_says_what_was_probably_meant(fitter_client, record):
    """In the fitter's words, without repeating the name that stands above the field."""
    said = text_of(send(fitter_client, record, "saddle_height", "73.4"))
    assert "73.4 looks like centimetres: that would be 734 mm." in said
    assert "Saddle height: 73.4" not in said


def test_a_refused_row_comes_back_whole_once_it_is_right(fitter_client, record):
    """Its error goes with the next answer."""
    refused = send(fitter_client, record, "saddle_height", "abc").content.decode()
    assert 'name="saddle_height-refused"' in refused
    response = send(fitter_client, record, "saddle_height", "734", refused="1")
    assert "HX-Reswap" not in response
    assert 'id="row-saddle_height"' in response.content.decode()
    assert "aria-invalid" not in response.content.decode()


@pytest.mark.parametrize("sigma", ["0", "-1", "101", "abc", "1e999"])
def test_an_impossible_uncertainty_is_refused(fitter_client, record, sigma):
    """A reading that is surer than sure, or says nothing."""
    response = send(fitter_client, record, "saddle_height", "734", sigma=sigma)
    assert response.status_code == 422
    assert 'id="id_saddle_height-sigma_error"' in response.content.decode()
    assert not record.readings.exists()


def test_instrument_and_uncertainty_are_the_fitters_to_set(fitter_client, record):
    """The usual uncertainty of the instrument, or the one that was typed."""
    send(fitter_client, record, "saddle_tilt", "1", instrument="inclinometer")
    assert record.readings.get(replaced_at=None).sigma == 2.0
    send(fitter_client, record, "saddle_tilt", "1", instrument="inclinometer", sigma="0,5")
    assert record.readings.get(replaced_at=None).sigma == 0.5
    assert send(fitter_client, record, "saddle_tilt", "1", instrument="tape").status_code == 422
    assert record.readings.count() == 2


def test_an_uncertainty_alone_says_nothing(fitter_client, record):
    """It is asked for its value instead of being dropped."""
    response = send(fitter_client, record, "saddle_height", "", sigma="2")
    assert response.status_code == 422
    assert "Type the reading too" in text_of(response)


@pytest.mark.parametrize("key", ["nothing", "saddle_height.x", "\x00", "🚲", "hood_middle.x"])
def test_a_quantity_that_does_not_exist_is_not_found(fitter_client, record, key):
    """A forged address, in whatever script."""
    path = address("reading", record, "before", "saddle_height").replace("saddle_height", key)
    assert fitter_client.post(path, {"unit": "mm"}, headers=HTMX).status_code == 404
    assert fitter_client.post(path.replace("/before/", "/between/"), {}, headers=HTMX).status_code == 404


def test_emptying_a_field_takes_the_reading_back(fitter_client, record):
    """The row is retired, and the page says that it is saved."""
    keep(record, "before", {"drop": 60})
    sent = {"drop-value": "", "initial-drop-value": "60", "unit": "mm"}
    response = fitter_client.post(address("reading", record, "before", "drop"), sent, headers=HTMX)
    assert response.status_code == 200
    assert values(record) == {}
    assert record.readings.count() == 1


def test_a_group_is_kept_by_its_button_and_loses_nothing(fitter_client, record):
    """Without JavaScript: what is right is stored, what is not comes back as typed, with an error that leads to it."""
    sent = {
        "saddle_height-value": "734",
        "setback_nose-value": "sixty",
        "saddle_tilt-value": "-1,5°",
        "unit": "mm",
        "part": "saddle",
    }
    response = fitter_client.post(address("position", record, "before"), sent)
    assert response.status_code == 422
    assert values(record) == {"saddle_height": 734, "saddle_tilt": -1.5}
    body = response.content.decode()
    assert 'value="sixty"' in body
    assert '<a href="#id_setback_nose-value">' in body
    again = fitter_client.post(address("position", record, "before"), sent | {"setback_nose-value": "60"})
    assert again["Location"].endswith("#part-saddle")
    assert len(values(record)) == 3
    assert record.readings.count() == 3


def test_a_page_that_lay_open_does_not_undo_another_tablet(fitter_client, record):
    """Only what was changed on that page is kept: the other fields are left as they are by now."""
    keep(record, "before", {"saddle_height": 734, "setback_nose": 60})
    page = fitter_client.get(address("position", record, "before")).content.decode()
    shown = dict(re.findall(r'name="(initial-[^"]+)"(?: value="([^"]*)")?', page))
    keep(record, "before", {"saddle_height": 740})
    sent = {
        **shown,
        "saddle_height-value": "734",
        "saddle_height-instrument": "tape",
        "setback_nose-value": "62",
        "setback_nose-instrument": "plumb",
        "unit": "mm",
        "part": "saddle",
    }
    assert fitter_client.post(address("position", record, "before"), sent).status_code == 302
    assert values(record) == {"saddle_height": 740, "setback_nose": 62}


def test_looking_at_a_value_in_inches_does_not_change_it(fitter_client, record):
    """The text that was shown stands for the number that is stored, to the last digit."""
    keep(record, "before", {"saddle_height": 734.1})
    sent = {
        "saddle_height-value": "28.902",
        "initial-saddle_height-value": "28.902",
        "saddle_height-instrument": "laser",
    }
    fitter_client.post(address("reading", record, "before", "saddle_height"), sent | {"unit": "in"}, headers=HTMX)
    assert record.readings.get(replaced_at=None).value == 734.1
    assert record.readings.get(replaced_at=None).instrument == "laser"


def test_the_figures_on_the_page_are_the_cores(fitter_client, record):
    """Every dimension that the core derives stands on the page with its uncertainty, formatted by the one style."""
    keep(record, "before", BEFORE)
    keep(record, "after", AFTER)
    said = text_of(fitter_client.get(address("position", record, "after")))
    style, positions = NumberStyle(), positions_of(record)
    for key in ("saddle_height", "saddle_to_hood_reach", "nose_to_hood", "drop", "hood_reach_left", "seat_angle"):
        change = positions.changes_by_key[key]
        figures = [style.value(change.unit, each.value) for each in (change.before, change.after)]
        figures += [style.value(change.unit, change.delta, signed=True), style.value(change.unit, 1.96 * change.sigma)]
        assert f"{change.label} {' '.join(figures)} {'real' if change.real else 'within error'}" in said


def test_what_is_missing_is_said_never_guessed(fitter_client, record):
    """One reading short: the page names the one that would complete it, and draws nothing in its place."""
    response = send(fitter_client, record, "saddle_height", "734")
    assert "The saddle datum cannot be placed yet: saddle setback to the datum would complete it." in text_of(response)
    both = send(fitter_client, record, "setback_datum", "200")
    assert "cannot be placed" not in text_of(both)
    assert "Effective seat angle" in text_of(both)


def test_a_misread_tape_is_named_as_the_one_to_take_again(fitter_client, record):
    """With more readings than needed the page points at the one that does not fit, beside its field and by a link."""
    keep(record, "before", BEFORE | {"setback_datum": 200.0, "nose_to_hood": 643.3})
    body = fitter_client.get(address("position", record, "before")).content.decode()
    assert "nose_to_hood" in positions_of(record).before.suspects
    assert '<a href="#id_nose_to_hood-value">' in body
    beside = re.search(r'<span class="reading-out" id="out-nose_to_hood">(.*?)</span>', body, re.DOTALL)[1]
    assert "take again" in beside


def test_untouched_is_said_with_one_tap(fitter_client, record):
    """A tick in place of a second measurement; the row then comes back without the old text."""
    keep(record, "before", {"saddle_tilt": 1.5})
    response = send(fitter_client, record, "saddle_tilt", "", phase="after", untouched="on")
    assert response.status_code == 200
    row = record.readings.get(phase="after")
    assert (row.value, row.instrument) == (1.5, UNCHANGED)
    assert "HX-Reswap" not in response
    assert "not touched" in text_of(fitter_client.get(address("position", record, "after")))


def test_what_is_measured_after_all_outweighs_the_tick(fitter_client, record):
    """A typed value is a measurement."""
    keep(record, "before", {"drop": 60})
    save_readings(record=record, phase="after", given={"drop": Without.UNCHANGED}, by=None)
    sent = {"drop-value": "52", "drop-untouched": "on", "initial-drop-untouched": "True", "unit": "mm"}
    fitter_client.post(address("reading", record, "after", "drop"), sent, headers=HTMX)
    row = record.readings.get(phase="after", replaced_at=None)
    assert (row.value, row.instrument) == (52, "tape")


def test_an_untick_takes_it_back(fitter_client, record):
    """Then nothing is said of it any more."""
    keep(record, "before", {"drop": 60})
    save_readings(record=record, phase="after", given={"drop": Without.UNCHANGED}, by=None)
    sent = {"drop-value": "", "initial-drop-untouched": "True", "unit": "mm"}
    fitter_client.post(address("reading", record, "after", "drop"), sent, headers=HTMX)
    assert values(record, "after") == {}


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_the_rest_of_a_part_can_be_said_to_be_untouched(fitter_client, record, headers):
    """Only that part, only what was read before, and not what was measured after."""
    keep(record, "before", {"saddle_height": 734, "saddle_tilt": 1, "setback_nose": 60, "drop": 60})
    keep(record, "after", {"saddle_height": 746})
    sent = {"unit": "mm", "part": "saddle", "rest": "saddle"}
    response = fitter_client.post(address("position", record, "after"), sent, headers=headers)
    assert response.status_code == (200 if headers else 302)
    rows = record.readings.filter(phase="after").values_list("quantity", "instrument")
    assert dict(rows) == {"saddle_height": "tape", "saddle_tilt": UNCHANGED, "setback_nose": UNCHANGED}


def test_the_button_for_the_rest_goes_with_the_last_reading(fitter_client, record):
    """As long as something of the part is unsaid it is offered, and no longer."""
    keep(record, "before", {"saddle_height": 734, "saddle_tilt": 1, "pad_width": 200})
    rest = 'name="rest" value="saddle"'
    assert rest in send(fitter_client, record, "saddle_height", "746", phase="after").content.decode()
    assert rest not in send(fitter_client, record, "saddle_tilt", "0", phase="after").content.decode()
    assert send(fitter_client, record, "pad_width", "210", phase="after").status_code == 200


def test_nothing_can_be_untouched_before_the_changes(fitter_client, record):
    """A forged button does nothing."""
    keep(record, "before", {"drop": 60})
    fitter_client.post(address("position", record, "before"), {"unit": "mm", "rest": "reach", "part": "\x00"})
    assert record.readings.count() == 1


def test_coordinates_and_tape_are_one_position(fitter_client, record):
    """Points from a jig, mixed with readings of the common set, in one solution."""
    for key, value in (("saddle_datum.x", "-200"), ("saddle_datum.y", "700")):
        assert send(fitter_client, record, key, value).status_code == 200
    send(fitter_client, record, "saddle_tilt", "0")
    send(fitter_client, record, "setback_nose", "60")
    said = text_of(fitter_client.get(address("points", record, "before")))
    assert "Saddle height 728.0 2.9" in said
    assert "Saddle setback to the nose 60.0" in said
    assert record.readings.filter(quantity="saddle_datum.x", instrument="jig").exists()


def test_coordinates_are_refused_like_any_reading(fitter_client, record):
    """Beside their own field on their own page."""
    response = send(fitter_client, record, "hood_left.z", "99999", htmx=False)
    assert response.status_code == 422
    assert 'id="id_hood_left-z-value_error"' in response.content.decode()


def test_pads_are_asked_where_there_are_pads(fitter_client, record):
    """An aero-bar bike has them among the common readings, any other on demand; nothing is out of reach."""
    path = address("position", record, "before")
    assert 'id="part-pads"' not in fitter_client.get(path).content.decode()
    assert 'id="row-pad_width"' in fitter_client.get(path).content.decode()
    record.fit_session.bike.bar_kind = "aero"
    record.fit_session.bike.save()
    page = fitter_client.get(path).content.decode()
    assert page.index('id="part-pads"') < page.index('id="row-pad_width"') < page.index('id="part-cleats"')


@pytest.mark.parametrize("points", [False, True])
def test_every_quantity_can_be_typed_somewhere(fitter_client, record, points):
    """The common set on one page, coordinates on the other, each once."""
    page = fitter_client.get(address("points" if points else "position", record, "before")).content.decode()
    found = re.findall(r' name="([a-z_]+(?:-[xyz])?)-value"', page)
    wanted = [each.slug for each in QUANTITIES.values() if (each.point is not None) is points]
    assert sorted(found) == sorted(wanted)


def test_the_pitch_saves_by_itself(fitter_client, record):
    """Nose-up is positive; what no trainer does is refused, and an empty field is level."""
    path = address("pitch", record, "before")
    assert fitter_client.post(path, {"pitch-pitch_deg": "1,5"}, headers=HTMX).status_code == 200
    record.refresh_from_db()
    assert record.pitch_deg == 1.5
    for typed in ("11", "-10.5", "steep", "NaN"):
        refused = fitter_client.post(path, {"pitch-pitch_deg": typed}, headers=HTMX)
        assert refused.status_code == 422
        assert f'value="{typed}"' in refused.content.decode()
    assert fitter_client.post(path, {"pitch-pitch_deg": "steep"}).status_code == 422
    plain = fitter_client.post(path, {"pitch-pitch_deg": "", "initial-pitch-pitch_deg": "1.5"})
    assert plain.status_code == 302
    record.refresh_from_db()
    assert record.pitch_deg == 0


def test_a_closed_record_is_not_written_and_nothing_typed_is_lost(fitter_client, record):
    """Another tablet closed it meanwhile: in place nothing is swapped, and a plain page comes back as it was typed."""
    closed(record)
    assert send(fitter_client, record, "drop", "61").status_code == 409
    sent = {"drop-value": "61", "unit": "mm", "part": "reach"}
    response = fitter_client.post(address("position", record, "before"), sent)
    assert response.status_code == 409
    assert 'value="61"' in response.content.decode()
    assert "This record is closed" in response.content.decode()
    assert not record.readings.exists()


@pytest.mark.parametrize("page", ["position", "points"])
def test_a_page_asks_the_database_the_same_however_much_was_read(
    fitter_client, record, page, django_assert_num_queries
):
    """One query for all readings, however many there are and were."""
    path = address(page, record, "after")
    with django_assert_num_queries(4):
        fitter_client.get(path)
    for shift in range(3):
        keep(record, "before", {key: value + shift for key, value in BEFORE.items()})
        keep(record, "after", {key: value + shift for key, value in AFTER.items()})
    with django_assert_num_queries(4):
        fitter_client.get(path)


def test_saving_a_reading_asks_the_database_the_same_however_much_was_read(
    fitter_client, record, django_assert_max_num_queries
):
    """Locked, read, retired, added, the position stored, and the page told."""
    keep(record, "before", {"saddle_height": 700, "setback_datum": 200})
    with django_assert_max_num_queries(17):
        send(fitter_client, record, "saddle_height", "734")
    keep(record, "before", BEFORE)
    with django_assert_max_num_queries(17):
        send(fitter_client, record, "saddle_height", "735")


@given(
    value=st.text(max_size=45),
    sigma=st.text(max_size=10),
    instrument=st.sampled_from(["tape", "level", "", "spoon"]),
    key=st.sampled_from(sorted(QUANTITIES)),
    unit=st.sampled_from(["mm", "in"]),
)
def test_any_text_becomes_a_reading_within_its_limits_or_an_error(value, sigma, instrument, key, unit):
    """No text of any script breaks the form, and none smuggles an impossible number through."""
    chosen = quantity(key)
    data = {
        f"{chosen.slug}-{name}": text for name, text in (("value", value), ("sigma", sigma), ("instrument", instrument))
    }
    form = ReadingForm(chosen, "before", typed_in=unit, data=data)
    if form.is_valid() and isinstance(form.given, Taken):
        assert chosen.limits.low <= form.given.value <= chosen.limits.high
        assert form.given.sigma > 0
        assert len(form.given.as_typed) <= 40


def test_another_riders_reading_is_out_of_reach(fitter_client, record):
    """The address names the session: what is posted there belongs there."""
    other = begun(factories.FitSessionFactory(studio=record.fit_session.studio, occupancy=False))
    send(fitter_client, other, "drop", "61")
    assert values(record) == {}
    assert values(other) == {"drop": 61}
    assert reverse("bench:position", args=[other.fit_session_id, "before"]) != address("position", record, "before")
