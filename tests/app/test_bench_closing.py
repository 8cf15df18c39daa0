"""The end of a session: the safety list, what ate time, what the rider is told, closing and opening again."""

import html
import re
from datetime import timedelta

import pytest
from django.utils import timezone

from intake.models import Discomfort, OutgoingMail
from sessions.models import ClosingStep, FitRecord, SafetyEntry, StateChange, TimeLoss
from sessions.safety import LINES, lines_for, open_because
from sessions.selectors.bench.records import bench_of, open_lines
from sessions.services.bench.errors import RecordClosedError, SafetyOpenError
from sessions.services.bench.records import close_record, reopen_record
from tests import factories
from tests.app.bench_help import HTMX, address, begun, closed, keep, settle

pytestmark = pytest.mark.django_db


@pytest.fixture
def record(fit_session, rider_link):
    """An open record whose rider has an open link."""
    return begun(fit_session)


def text_of(response):
    """What a page says, without its markup."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def line_headers(key):
    """What htmx sends with a row of the list."""
    return HTMX | {"HX-Trigger": f"row-safety-{key}"}


def send_line(browser, record, key, *, htmx=True, **fields):
    """Send one line of the safety list as the page does."""
    data = {f"safety-{key}-{name}": value for name, value in fields.items()}
    return browser.post(address("safety", record), data, headers=line_headers(key) if htmx else {})


OPEN_TABLE = [
    ("brakes", "", "", "", True),
    ("brakes", "done", "", "", False),
    ("brakes", "not_applicable", "", "", False),
    ("brakes", "not_done", "", "", False),
    ("stem", "done", "", "", True),
    ("stem", "done", "5 N·m", "", False),
    ("stem", "done", "", "no figure on the part: maker's booklet, 5 N·m", False),
    ("stem", "not_applicable", "", "", False),
    ("stem", "not_done", "", "", False),
]


@pytest.mark.parametrize(("key", "state", "torque", "note", "is_open"), OPEN_TABLE)
def test_when_a_line_is_open(record, key, state, torque, note, is_open):
    """One table for the rule and for the stored list: a tightened bolt needs its printed figure or where it came from."""
    line = next(line for line in LINES if line.key == key)
    assert bool(open_because(line, state=state, torque=torque, note=note)) is is_open
    if state:
        SafetyEntry.objects.create(fit_record=record, item=key, state=state, torque_as_printed=torque, note=note)
    assert (key in [line.key for line, _reason in open_lines(record)]) is is_open


def test_pads_are_on_the_list_of_an_aero_bike_only(fit_session):
    """Every other line is on every list."""
    road = [line.key for line in lines_for(fit_session.bike)]
    fit_session.bike.bar_kind = "aero"
    assert {line.key for line in lines_for(fit_session.bike)} - set(road) == {"aero_bars"}


def test_a_line_saves_by_itself(fitter_client, fitter_user, record):
    """The answer tells the other unit, and how many lines are open."""
    response = send_line(fitter_client, record, "stem", state="done", torque_as_printed="5 N·m")
    assert response.status_code == 200
    assert response["HX-Reswap"] == "none"
    entry = record.safety_entries.get()
    assert (entry.item, entry.state, entry.torque_as_printed, entry.entered_by) == (
        "stem",
        "done",
        "5 N·m",
        fitter_user,
    )
    assert "= 44.3 lbf·in" in text_of(response)
    assert "13 lines of the safety list are still open." in text_of(response)


def test_a_torque_is_kept_as_printed(fitter_client, record):
    """With its own unit and its own contradiction, which is pointed out."""
    printed = "80–125 lb·in (9.6–14.1 N·m)"
    said = text_of(send_line(fitter_client, record, "seat_collar", state="done", torque_as_printed=printed))
    assert record.safety_entries.get().torque_as_printed == printed
    assert "do not agree: 80 lbf·in is 9.0 N·m, not 9.6 N·m." in said


def test_a_line_may_be_kept_before_its_torque_is_known(fitter_client, record):
    """Nothing typed waits for something else; it is open until the figure is there."""
    said = text_of(send_line(fitter_client, record, "stem", state="done"))
    assert record.safety_entries.get().state == "done"
    assert "Write the figure as printed on the part" in said


@pytest.mark.parametrize(
    "fields",
    [
        {"note": "no state yet"},
        {"state": "perhaps"},
        {"state": "\x00"},
        {"state": "done", "torque_as_printed": "5\x00"},
        {"state": "done", "torque_as_printed": "9" * 61},
        {"state": "done", "note": "x" * 301},
    ],
    ids=str,
)
@pytest.mark.parametrize("htmx", [True, False], ids=["htmx", "plain"])
def test_what_cannot_be_kept_of_a_line_comes_back_as_typed(fitter_client, record, fields, htmx):
    """422 with an error in the line, nothing stored."""
    response = send_line(fitter_client, record, "stem", htmx=htmx, **fields)
    assert response.status_code == 422
    body = html.unescape(response.content.decode())
    assert "errorlist" in body
    for name in ("note", "torque_as_printed"):
        assert fields.get(name, "") in body
    assert not record.safety_entries.exists()


def test_a_line_that_does_not_exist_is_not_stored(fitter_client, record):
    """A forged item changes nothing."""
    fitter_client.post(address("safety", record), {"safety-halo-state": "done", "safety-\x00-state": "done"})
    assert not record.safety_entries.exists()


def test_two_tablets_on_one_line_keep_both_parts(fitter_client, record):
    """One typed the torque while the other's page still showed none: its tap does not wipe it out."""
    send_line(fitter_client, record, "stem", state="done", torque_as_printed="5 N·m")
    stale = {
        "safety-stem-state": "not_done",
        "initial-safety-stem-state": "done",
        "safety-stem-torque_as_printed": "",
        "initial-safety-stem-torque_as_printed": "",
        "safety-stem-note": "",
        "initial-safety-stem-note": "",
    }
    fitter_client.post(address("safety", record), stale, headers=line_headers("stem"))
    entry = record.safety_entries.get()
    assert (entry.state, entry.torque_as_printed) == ("not_done", "5 N·m")


def test_the_whole_list_is_kept_by_its_button(fitter_client, record):
    """Without JavaScript; lines that were not answered stay open."""
    data = {f"safety-{line.key}-state": "not_applicable" for line in LINES[:5]}
    assert fitter_client.post(address("safety", record), data)["Location"].endswith("#safety")
    # The fifth of all lines is on pads, which this bike has not.
    assert record.safety_entries.count() == 4


def test_closing_is_refused_while_a_line_is_open(fitter_client, record):
    """Each open line says why, beside itself and in the summary; nothing is closed and nobody is mailed."""
    settle(record)
    record.safety_entries.filter(item="brakes").delete()
    record.safety_entries.filter(item="stem").update(torque_as_printed="")
    with pytest.raises(SafetyOpenError) as refused:
        close_record(record=record, by=None)
    assert [line.key for line, _reason in refused.value.lines] == ["stem", "brakes"]
    response = fitter_client.post(address("close", record))
    assert response.status_code == 422
    body = response.content.decode()
    assert re.findall(r'<li><a href="#(id_safety[^"]+)">', body) == [
        "id_safety-stem-torque_as_printed",
        "id_safety-brakes-state_0",
    ]
    assert "Both brakes stop the bike: Say whether this is done" in text_of(response)
    assert body.count('class="errorlist"') == 2
    assert not bench_of(record.fit_session_id).is_closed
    assert not OutgoingMail.objects.filter(key__startswith="fit_sheet").exists()


def test_closing_ends_the_session_and_mails_the_way_to_the_sheet(
    fitter_client, fitter_user, record, rider_link, settings
):
    """State, history, who and when, and one mail with the address of the sheet."""
    settings.SITE_URL = "https://wrenfield.example"
    settle(record)
    response = fitter_client.post(address("close", record), follow=True)
    assert "The session is closed." in text_of(response)
    record.refresh_from_db()
    assert record.closed_by == fitter_user
    assert record.fit_session.state == "done"
    step = StateChange.objects.latest("pk")
    assert (step.from_state, step.to_state, step.changed_by) == ("under_way", "done", fitter_user)
    assert ClosingStep.objects.get().kind == "closed"
    mail = OutgoingMail.objects.get(key__startswith="fit_sheet")
    assert mail.to == record.fit_session.client.email
    assert f"https://wrenfield.example/r/{rider_link.token}/fit-sheet/" in mail.body


def test_closing_twice_closes_once(fitter_client, record):
    """A double tap: one mail, one step, a plain word."""
    settle(record)
    fitter_client.post(address("close", record))
    assert "This record is closed" in text_of(fitter_client.post(address("close", record), follow=True))
    assert ClosingStep.objects.count() == OutgoingMail.objects.filter(key__startswith="fit_sheet").count() == 1
    with pytest.raises(RecordClosedError):
        close_record(record=record, by=None)


def test_without_an_open_link_the_fitter_is_told(fitter_client, record, rider_link):
    """Nobody is mailed an address that opens nothing."""
    rider_link.revoked_at = timezone.now()
    rider_link.save()
    settle(record)
    assert "the rider was not told" in text_of(fitter_client.post(address("close", record), follow=True))
    assert not OutgoingMail.objects.filter(key__startswith="fit_sheet").exists()


def test_a_closed_record_is_opened_again_with_a_reason(fitter_client, fitter_user, record):
    """Who, when and why are kept; the appointment stays done; the rider is not mailed a second time."""
    closed(record)
    fitter_client.post(address("reopen", record), {"reopen-note": "saddle height mistyped"})
    bench = bench_of(record.fit_session_id)
    assert bench.is_open
    assert bench.fit_session.state == "done"
    keep(bench.record, "before", {"saddle_height": 734})
    close_record(record=bench.record, by=fitter_user)
    steps = ClosingStep.objects.values_list("kind", "note", "taken_by")
    assert list(steps) == [
        ("closed", "", None),
        ("reopened", "saddle height mistyped", fitter_user.pk),
        ("closed", "", fitter_user.pk),
    ]
    assert OutgoingMail.objects.filter(key__startswith="fit_sheet").count() == 1
    home = text_of(fitter_client.get(address("home", record)))
    assert "opened again, Marit Solvang. saddle height mistyped" in home


@pytest.mark.parametrize("note", ["", "   ", "x" * 301, "a\x00b", "\u202e"])
def test_a_record_is_not_opened_without_a_reason(fitter_client, record, note):
    """422, and it stays closed."""
    closed(record)
    response = fitter_client.post(address("reopen", record), {"reopen-note": note})
    assert response.status_code == 422
    assert bench_of(record.fit_session_id).is_closed


def test_opening_twice_is_opening_once(record):
    """The second finds it open."""
    closed(record)
    for _again in range(2):
        reopen_record(record=record, by=None, note="twice")
    assert ClosingStep.objects.filter(kind="reopened").count() == 1


def test_how_it_feels_now_is_asked_where_it_hurt(fitter_client, record):
    """Beside what was said before; each tap is kept."""
    check = record.fit_session.pre_visit
    factories.DiscomfortFactory(pre_visit=check, area="knee_front", side="right", score=6)
    page = fitter_client.get(address("closing", record))
    assert "Knee, front, right Before: 6 of 10." in text_of(page)
    sent = {"now-knee_front-right-score": "2"}
    headers = HTMX | {"HX-Trigger": "row-now-knee_front-right"}
    assert fitter_client.post(address("feels", record), sent, headers=headers).status_code == 200
    after = Discomfort.objects.get(phase="after")
    assert (after.area, after.side, after.score) == ("knee_front", "right", 2)
    for forged in ("11", "-1", "two", "\x00"):
        refused = fitter_client.post(address("feels", record), {"now-knee_front-right-score": forged}, headers=headers)
        assert refused.status_code == 422
    after.refresh_from_db()
    assert after.score == 2


def test_a_new_complaint_is_kept_too(fitter_client, record):
    """A place that nobody spoke of before, once however often it is sent."""
    for _again in range(2):
        sent = {"new-place-where": "neck", "new-place-score": "3"}
        fitter_client.post(address("new_place", record), sent)
    assert Discomfort.objects.get(phase="after").score == 3
    for where, score in (("halo", "3"), ("neck", "11"), ("", ""), ("\x00", "3"), ("hip-left", "")):
        sent = {"new-place-where": where, "new-place-score": score}
        assert fitter_client.post(address("new_place", record), sent).status_code == 422
    assert Discomfort.objects.count() == 1


def test_notes_save_by_themselves_and_show_a_conflict(fitter_client, record):
    """What another tablet wrote is shown beside what was typed here; joined, it is kept."""
    path, headers = address("notes", record), HTMX | {"HX-Trigger": "row-rider"}
    first = fitter_client.post(path, {"rider-notes": "Ride easy.", "initial-rider-notes": ""}, headers=headers)
    assert first.status_code == 200
    stale = {"rider-notes": "Saddle up 12 mm.", "initial-rider-notes": ""}
    response = fitter_client.post(path, stale, headers=headers)
    assert response.status_code == 422
    assert "There it says: “Ride easy.”" in text_of(response)
    assert "Saddle up 12 mm." in text_of(response)
    seen = re.search(r'name="initial-rider-notes" value="([^"]*)"', response.content.decode())[1]
    joined = {"rider-notes": "Ride easy. Saddle up 12 mm.", "initial-rider-notes": seen}
    assert fitter_client.post(path, joined, headers=headers).status_code == 200
    assert FitRecord.objects.get().notes == "Ride easy. Saddle up 12 mm."


@pytest.mark.parametrize(
    "notes",
    ["Zeile eins\r\nZeile zwei", "<script>alert(1)</script>", "🚲 отлично", "\u05e9\u05dc\u05d5\u05dd", "  indented"],
)
def test_notes_of_any_script_come_back_as_typed(fitter_client, record, notes):
    """Lines and all, escaped."""
    fitter_client.post(address("notes", record), {"rider-notes": notes})
    page = fitter_client.get(address("closing", record)).content.decode()
    assert "<script>alert" not in page
    area = re.search(r'<textarea[^>]*name="rider-notes"[^>]*>\s?(.*?)</textarea>', page, re.DOTALL)[1]
    assert html.unescape(area).strip() == notes.replace("\r\n", "\n").strip()


@pytest.mark.parametrize("notes", ["x" * 4001, "a\x00b"])
def test_notes_that_cannot_be_kept_are_still_there(fitter_client, record, notes):
    """422 with all of it in the field."""
    response = fitter_client.post(address("notes", record), {"rider-notes": notes})
    assert response.status_code == 422
    assert notes in html.unescape(response.content.decode())


def test_the_next_visit_is_a_day_after_the_session(fitter_client, record):
    """Typed in any usual way; the impossible is refused in its field."""
    path, first = address("next_visit", record), record.fit_session.starts_at.date()
    good = first + timedelta(days=30)
    for typed in (f"{good:%Y-%m-%d}", f"{good:%d/%m/%Y}", f"{good:%d %B %Y}"):
        assert fitter_client.post(path, {"visit-follow_up_on": typed}).status_code == 302
        record.refresh_from_db()
        assert record.follow_up_on == good
    for typed in (f"{first - timedelta(days=1)}", "2026-02-30", "9999-12-31", "soon", "0001-01-01", "\x00"):
        response = fitter_client.post(path, {"visit-follow_up_on": typed})
        assert response.status_code == 422, typed
        assert typed in html.unescape(response.content.decode())
    assert FitRecord.objects.get().follow_up_on == good
    fitter_client.post(path, {"visit-follow_up_on": "", "initial-visit-follow_up_on": str(good)})
    assert FitRecord.objects.get().follow_up_on is None


def test_what_ate_time_is_asked_for_what_was_found(fitter_client, record):
    """The triage's findings by name, other checks to choose, and anything else."""
    check = record.fit_session.pre_visit
    factories.CheckAnswerFactory(pre_visit=check, check_key="post_slides", option="stuck")
    page = fitter_client.get(address("closing", record)).content.decode()
    assert 'name="lost-post_slides-stuck-minutes"' in page
    assert 'name="lost-other-minutes"' in page
    sent = {"lost-post_slides-stuck-minutes": "35", "lost-other-minutes": "5", "lost-other-note": "late train"}
    assert fitter_client.post(address("time_lost", record), sent).status_code == 302
    offered = re.findall(r'<option value="([a-z_.]+)"', page[page.index("new-lost-check") :])
    assert "post_slides.forced" in offered
    assert "post_slides.stuck" not in offered
    new = {"new-lost-check": offered[0], "new-lost-one_tap": "10"}
    fitter_client.post(address("new_time_lost", record), new)
    kept = dict(TimeLoss.objects.values_list("finding_key", "minutes"))
    assert kept == {"post_slides.stuck": 35, "": 5, offered[0]: 10}
    again = fitter_client.get(address("closing", record)).content.decode()
    assert f'name="lost-{offered[0].replace(".", "-")}-minutes" value="10"' in again
    fitter_client.post(
        address("time_lost", record),
        {"lost-other-minutes": "", "initial-lost-other-minutes": "5", "lost-other-note": ""},
    )
    assert not TimeLoss.objects.filter(finding_key="").exists()


TAPS = [
    # shown before, one tap, typed → kept
    (None, "15", "", 15),
    (None, "", "25", 25),
    (None, "15", "25", 25),
    (20, "45", "20", 45),
    (20, "20", "25", 25),
    (20, "0", "20", None),
    (20, "20", "", None),
    (20, "30", "", 30),
    (25, "30", "25", 30),
]


@pytest.mark.parametrize(("before", "one_tap", "typed", "kept"), TAPS)
@pytest.mark.parametrize("htmx", [True, False], ids=["htmx", "plain"])
def test_minutes_by_one_tap_or_by_typing(fitter_client, record, before, one_tap, typed, kept, htmx):
    """Whichever was touched holds; the row then shows both alike."""
    name = "lost-other"
    if before:
        record.time_losses.create(minutes=before)
    shown = str(before or "")
    sent = {
        f"{name}-one_tap": one_tap,
        f"initial-{name}-one_tap": shown if before == 20 else "",
        f"{name}-minutes": typed,
        f"initial-{name}-minutes": shown,
    }
    headers = HTMX | {"HX-Trigger": f"row-{name}"} if htmx else {}
    response = fitter_client.post(address("time_lost", record), sent, headers=headers)
    assert response.status_code == (200 if htmx else 302)
    assert TimeLoss.objects.values_list("minutes", flat=True).first() == kept
    if htmx and kept:
        assert f'name="{name}-minutes" value="{kept}"' in response.content.decode()


def test_nothing_ate_time_is_one_tap(fitter_client, record):
    """Kept, shown, taken back; not where minutes are noted, and gone once some are."""
    path = address("nothing_lost", record)
    assert fitter_client.post(path, {"said": "yes"})["Location"].endswith("#lost")
    assert "Nothing ate time. Take this back" in text_of(fitter_client.get(address("closing", record)))
    assert FitRecord.objects.get().nothing_lost
    fitter_client.post(path, {"said": "no"})
    assert not FitRecord.objects.get().nothing_lost
    fitter_client.post(path, {"said": "yes"})
    fitter_client.post(address("time_lost", record), {"lost-other-minutes": "5"})
    assert not FitRecord.objects.get().nothing_lost
    response = fitter_client.post(path, {"said": "yes"})
    assert response.status_code == 409
    assert "Minutes are noted already" in text_of(response)
    assert not FitRecord.objects.get().nothing_lost


@pytest.mark.parametrize("minutes", ["-1", "601", "1e9", "NaN", "ten", "9" * 400, "\x00", "1.5"])
def test_impossible_minutes_are_refused(fitter_client, record, minutes):
    """In their field, as typed."""
    response = fitter_client.post(address("time_lost", record), {"lost-other-minutes": minutes})
    assert response.status_code == 422
    assert f'value="{minutes}"' in html.unescape(response.content.decode())
    new = {"new-lost-check": "forged", "new-lost-minutes": minutes}
    assert fitter_client.post(address("new_time_lost", record), new).status_code == 422
    assert not TimeLoss.objects.exists()


def test_a_note_on_lost_time_needs_its_minutes(fitter_client, record):
    """It is not dropped: the minutes are asked for."""
    response = fitter_client.post(address("time_lost", record), {"lost-other-note": "late train"})
    assert response.status_code == 422
    assert 'value="late train"' in response.content.decode()


@pytest.mark.parametrize(
    "name", ["feels", "new_place", "notes", "next_visit", "safety", "time_lost", "new_time_lost", "nothing_lost"]
)
@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_nothing_of_a_closed_record_is_written(fitter_client, record, name, headers):
    """409, whatever is sent and by whichever way."""
    factories.DiscomfortFactory(pre_visit=record.fit_session.pre_visit, area="hip", side="left")
    closed(record)
    offered = re.findall(r'<option value="([a-z_.]+)"', fitter_client.get(address("closing", record)).content.decode())
    sent = {
        "now-hip-left-score": "1",
        "new-place-where": "neck",
        "new-place-score": "1",
        "rider-notes": "later",
        "visit-follow_up_note": "later",
        "safety-brakes-state": "done",
        "safety-brakes-note": "later",
        "lost-other-minutes": "5",
        "new-lost-check": offered[-1],
        "new-lost-minutes": "5",
    }
    trigger = {"feels": "now-hip-left", "safety": "safety-brakes", "time_lost": "lost-other"}.get(name, "")
    extra = {"HX-Trigger": f"row-{trigger}"} if headers and trigger else {}
    response = fitter_client.post(address(name, record), sent, headers=headers | extra)
    assert response.status_code == 409
    assert not TimeLoss.objects.exists()
    assert FitRecord.objects.get().notes == ""
    assert record.safety_entries.get(item="brakes").note == ""
    assert not Discomfort.objects.filter(phase="after").exists()


def test_the_page_asks_the_database_the_same_however_much_it_holds(fitter_client, record, django_assert_num_queries):
    """One query for each kind of row."""
    with django_assert_num_queries(16):
        fitter_client.get(address("closing", record))
    settle(record)
    for area in ("neck", "upper_back"):
        factories.DiscomfortFactory(pre_visit=record.fit_session.pre_visit, area=area)
    TimeLoss.objects.bulk_create(TimeLoss(fit_record=record, finding_key=f"k.{n}", minutes=5) for n in range(9))
    with django_assert_num_queries(16):
        fitter_client.get(address("closing", record))
