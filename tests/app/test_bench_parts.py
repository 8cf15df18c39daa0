"""Component changes, parts to order, and how far a post must be inside."""

import html
import re

import pytest

from sessions.models import ComponentChange
from sessions.services.bench.details import add_component_change, change_row, remove_row
from sessions.services.bench.errors import RowGoneError
from tests import factories
from tests.app.bench_help import HTMX, address, begun, closed

pytestmark = pytest.mark.django_db

CHANGE = {"component": "stem", "was": "100 mm", "now": "90 mm", "note": ""}


@pytest.fixture
def record(fit_session):
    """An open record."""
    return begun(fit_session)


def text_of(response):
    """What a page says, without its markup."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def key_on(page, kind="change"):
    """The key that the page's new form carries."""
    return re.search(rf'name="new-{kind}-request_key" value="([^"]+)"', page)[1]


def new(browser, record, kind="change", **fields):
    """What the page's own form sends."""
    page = browser.get(address("changes", record)).content.decode()
    usual = CHANGE if kind == "change" else {"part": "Stem 80 mm", "why": "numb hands"}
    return {
        f"new-{kind}-{name}": value for name, value in {**usual, "request_key": key_on(page, kind), **fields}.items()
    }


@pytest.mark.parametrize(("headers", "status"), [({}, 302), (HTMX, 200)], ids=["plain", "htmx"])
@pytest.mark.parametrize("kind", ["change", "part"])
def test_a_row_is_added_once_however_often_it_is_sent(fitter_client, record, kind, headers, status):
    """A double tap, or the page sent again after going back."""
    sent = new(fitter_client, record, kind)
    for _again in range(3):
        assert fitter_client.post(address("add", record, kind), sent, headers=headers).status_code == status
    rows = record.component_changes if kind == "change" else record.parts_to_order
    assert rows.count() == 1
    assert ("90 mm" if kind == "change" else "Stem 80 mm") in text_of_row(rows.get())


def text_of_row(row):
    """All that a row says."""
    return " ".join(str(getattr(row, name, "")) for name in ("now", "part", "why"))


@pytest.mark.parametrize(
    "fields",
    [
        {"component": ""},
        {"component": "\x00"},
        {"component": "engine"},
        {"now": ""},
        {"now": "   "},
        {"now": "x" * 201},
        {"now": "90\x00mm"},
        {"was": "x" * 201},
        {"note": "x" * 301},
        {"request_key": "none"},
        {"request_key": ""},
    ],
    ids=str,
)
@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_what_cannot_be_kept_comes_back_as_typed(fitter_client, record, fields, headers):
    """422, with everything that was typed still there."""
    sent = new(fitter_client, record, **fields)
    response = fitter_client.post(address("add", record, "change"), sent, headers=headers)
    assert response.status_code == 422
    assert "errorlist" in response.content.decode() or "error-summary" in response.content.decode()
    assert 'value="100 mm"' in response.content.decode() or "was" in fields
    assert not record.component_changes.exists()


def test_a_form_whose_key_was_lost_works_when_sent_again(fitter_client, record):
    """The answer carries a fresh key."""
    sent = new(fitter_client, record, request_key="gone")
    page = fitter_client.post(address("add", record, "change"), sent).content.decode()
    again = sent | {"new-change-request_key": key_on(page)}
    assert fitter_client.post(address("add", record, "change"), again).status_code == 302
    assert record.component_changes.count() == 1


@pytest.mark.parametrize("typed", ["<script>alert(1)</script>", "🚲 новый вынос", "\u05d2\u05d6\u05e2 90", "90 mm −6°"])
def test_any_script_is_kept_as_it_is_typed(fitter_client, record, typed):
    """And comes back escaped."""
    fitter_client.post(address("add", record, "change"), new(fitter_client, record, now=typed))
    assert record.component_changes.get().now == typed
    page = fitter_client.get(address("changes", record)).content.decode()
    assert "<script>alert" not in page
    assert typed in html.unescape(page)


def add(record, number=1):
    """A row that is there already."""
    return add_component_change(record=record, request_key=str(number), **CHANGE)


def test_a_row_corrects_itself_as_it_is_typed(fitter_client, record):
    """Only the column that was changed on the page is written; the row's other columns stay another tablet's."""
    row = add(record)
    ComponentChange.objects.filter(pk=row.pk).update(was="110 mm")
    prefix = f"change-{row.pk}"
    sent = {f"{prefix}-{name}": value for name, value in CHANGE.items()}
    sent |= {f"initial-{name}": value for name, value in sent.items()} | {f"{prefix}-now": "80 mm"}
    response = fitter_client.post(address("row", record, "change", row.pk), sent, headers=HTMX)
    assert response.status_code == 200
    assert response["HX-Reswap"] == "none"
    row.refresh_from_db()
    assert (row.was, row.now) == ("110 mm", "80 mm")


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_refused_correction_stays_in_its_row(fitter_client, record, headers):
    """The row is as it was, the text as it was typed."""
    row, other = add(record, 1), add(record, 2)
    prefix = f"change-{row.pk}"
    sent = {f"{prefix}-component": "stem", f"{prefix}-was": "typed here", f"{prefix}-now": ""}
    response = fitter_client.post(address("row", record, "change", row.pk), sent, headers=headers)
    assert response.status_code == 422
    assert "Say what it is now." in text_of(response)
    assert 'value="typed here"' in response.content.decode()
    row.refresh_from_db()
    assert row.now == other.now == "90 mm"


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_row_entered_by_mistake_is_taken_out(fitter_client, record, headers):
    """Once; a second tap finds it gone."""
    path = address("row", record, "change", add(record).pk)
    fitter_client.post(path, {"remove": "1"}, headers=headers)
    assert not record.component_changes.exists()
    assert fitter_client.post(path, {"remove": "1"}, headers=headers).status_code == 404


def test_a_row_that_another_device_took_out_meanwhile(record):
    """Found a moment ago, gone under the lock: said, not stumbled over, and not brought back."""
    row = add_component_change(record=record, request_key="1", component="stem", was="", now="90 mm")
    found = ComponentChange.objects.select_related("fit_record").get()
    remove_row(row=row)
    with pytest.raises(RowGoneError, match="taken out on another device"):
        change_row(row=found, changed={"now": "100 mm"})
    remove_row(row=found)
    assert ComponentChange.objects.count() == 0


def test_another_sessions_rows_are_out_of_reach(fitter_client, record):
    """A forged id opens nothing."""
    theirs = add(begun(factories.FitSessionFactory(studio=record.fit_session.studio, occupancy=False)))
    assert fitter_client.post(address("row", record, "change", theirs.pk), {"remove": "1"}).status_code == 404
    assert fitter_client.post(address("row", record, "part", theirs.pk), {"remove": "1"}).status_code == 404
    assert fitter_client.post(address("add", record, "engine"), {}).status_code == 404
    assert ComponentChange.objects.count() == 1


def test_a_closed_record_keeps_its_rows(fitter_client, record):
    """Neither added nor corrected nor taken out."""
    row, sent = add(record), new(fitter_client, record)
    closed(record)
    for path, data in (("add", sent), ("row", {"remove": "1"}), ("row", {f"change-{row.pk}-now": "80 mm"})):
        args = ["change"] if path == "add" else ["change", row.pk]
        assert fitter_client.post(address(path, record, *args), data).status_code in {409, 422}
        assert fitter_client.post(address(path, record, *args), data, headers=HTMX).status_code in {409, 422}
    row.refresh_from_db()
    assert row.now == "90 mm"
    assert record.component_changes.count() == 1


def test_forty_changes_cost_no_more_queries_than_one(fitter_client, record, django_assert_num_queries):
    """A session in which everything was exchanged still opens at once."""
    add(record, 0)
    with django_assert_num_queries(5):
        fitter_client.get(address("changes", record))
    for number in range(1, 40):
        add(record, number)
    with django_assert_num_queries(5):
        fitter_client.get(address("changes", record))


def asked(browser, record, **fields):
    """What the insertion page answers."""
    names = ("inserted_mm", "marked_mm", "frame_mm", "diameter_mm")
    return browser.get(address("insertion", record), {name: fields.get(name, "") for name in names})


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        # 16 CFR 1512.15(b): two diameters where nothing is marked: 2 × 27.2 = 54.4 mm.
        ({"inserted_mm": "50", "diameter_mm": "27.2"}, "The post must go 4.4 mm further in: 54.4 mm at least"),
        ({"inserted_mm": "80", "diameter_mm": "27.2"}, "At least 54.4 mm must be inside"),
        ({"inserted_mm": "80", "diameter_mm": "27.2", "marked_mm": "90"}, "The post must go 10 mm further in"),
        ({"inserted_mm": "95", "marked_mm": "90", "frame_mm": "100"}, "figure of the frame's maker"),
        ({"inserted_mm": "3 1/2 in", "diameter_mm": "27.2"}, "34.5 mm more could come out"),
        ({"inserted_mm": "80"}, "the least insertion is not known"),
    ],
)
def test_how_far_a_post_must_be_inside(fitter_client, record, fields, said):
    """A mark or a maker's figure before the rule, and nothing is guessed."""
    response = asked(fitter_client, record, **fields)
    assert response.status_code == 200
    assert said in text_of(response)


@pytest.mark.parametrize("typed", ["", "abc", "-5", "1e999", "99999", "\x00"])
def test_an_impossible_length_is_refused_in_its_field(fitter_client, record, typed):
    """Nothing is worked out from it."""
    response = asked(fitter_client, record, inserted_mm=typed, diameter_mm="27.2")
    assert response.status_code == 422
    assert 'id="id_inserted_mm_error"' in response.content.decode()


def test_no_rule_is_offered_for_a_post_of_its_own_frame(fitter_client, record):
    """A mast or a shaped post has only its maker's figure."""
    bike = record.fit_session.bike
    bike.post_diameter_mm = 27.2
    bike.save()
    assert 'value="27.2"' in fitter_client.get(address("insertion", record)).content.decode()
    bike.post_kind = "mast"
    bike.save()
    page = fitter_client.get(address("insertion", record))
    assert "belongs to its frame" in text_of(page)
    assert 'value="27.2"' not in page.content.decode()
