"""The owner's figures: what they count, in how many queries, and the tables to take away."""

import csv
import io
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.urls import reverse

from intake.models import Bike, Client, FindingDecision, PreVisitCheck, RepairReport, TriageSnapshot
from sessions.figures.values import ForecastShape, HeldSession, Moment, PutRightBy
from sessions.models import FitRecord, FitSession, TimeLoss
from sessions.selectors.figures.exports import EXPORTS
from sessions.selectors.figures.held import held_sessions
from tests import factories

pytestmark = pytest.mark.django_db

PAGE = reverse("figures:page")
NOW = datetime(2026, 6, 15, 9, 0, tzinfo=UTC)
BEFORE = {"booking": "ask_rider", "three_days": "fix_first", "day": "clear"}


@pytest.fixture(autouse=True)
def clock():
    """A Monday in June."""
    with time_machine.travel(NOW):
        yield


@pytest.fixture
def owner_client(client, owner_user):
    """A browser in which the owner is logged in."""
    client.force_login(owner_user)
    return client


def held(studio, *, days_ago=10, lost=None, closed=True, verdicts=BEFORE, **given):
    """A session that was held, with its moments and the minutes it lost."""
    start = NOW - timedelta(days=days_ago)
    made = factories.FitSessionFactory(studio=studio, starts_at=start, state="done", occupancy=False, **given)
    for moment, verdict in verdicts.items():
        factories.TriageSnapshotFactory(pre_visit=made.pre_visit, moment=moment, verdict=verdict)
    record = factories.FitRecordFactory(fit_session=made, closed_at=NOW + timedelta(minutes=1) if closed else None)
    for key, minutes in (lost or {}).items():
        TimeLoss.objects.create(fit_record=record, finding_key=key, minutes=minutes)
    return made


def values(studio, **choice):
    """The values of all sessions there are."""
    return held_sessions(studio=studio, **{"first_day": None, "service": None, **choice})


def test_rows_become_the_values_that_they_are(studio):
    """Local day, verdicts, the forecast's shape, minutes summed, who put right what."""
    made = held(studio, lost={"post_slides.stuck": 25, "": 7})
    FindingDecision.objects.create(pre_visit=made.pre_visit, finding_key="bring.kit_missing", ruling="bring_part")
    report = {"pre_visit": made.pre_visit, "finding_key": "gears.slipping"}
    RepairReport.objects.create(**report, source="rider", outcome="done", done_by="workshop")
    assert values(studio) == [
        HeldSession(
            session_id=made.pk,
            day=date(2026, 6, 5),
            service=made.service.name,
            planned_min=made.planned_min,
            slack_min=made.slack_min,
            verdicts={Moment(key): verdict for key, verdict in BEFORE.items()},
            readiness_pct=99.0,
            forecast=ForecastShape(5.0, 0, 10, 10),
            actual_min=32,
            put_right={
                "bring.kit_missing": PutRightBy.PART,
                "gears.slipping": PutRightBy.WORKSHOP,
                "post_slides.stuck": PutRightBy.STUDIO,
            },
        )
    ]


def test_the_latest_word_counts(studio):
    """A decision taken back, a repair that came back."""
    made = held(studio)
    for ruling in ("studio", ""):
        FindingDecision.objects.create(pre_visit=made.pre_visit, finding_key="gears.slipping", ruling=ruling)
    for outcome in ("done", "came_back"):
        about = {"pre_visit": made.pre_visit, "finding_key": "hose_slack.taut"}
        RepairReport.objects.create(**about, source="workshop", outcome=outcome)
    assert values(studio)[0].put_right == {}


def test_an_open_record_has_no_actual_minutes_and_a_coming_session_does_not_count(studio):
    """More minutes may follow until it is closed; only what was held is counted."""
    held(studio, lost={"": 9}, closed=False)
    factories.FitSessionFactory(studio=studio, starts_at=NOW + timedelta(days=9), occupancy=False)
    assert [each.actual_min for each in values(studio)] == [None]


def test_studio_period_and_service_choose(studio):
    """By the studio's own calendar: the last evening of May in Auckland is not June."""
    held(studio, days_ago=10)
    far = factories.studio_with_hours(time_zone="Pacific/Auckland")
    start = datetime(2026, 5, 31, 11, 0, tzinfo=UTC)
    last_of_may = held(far, days_ago=(NOW - start) / timedelta(days=1))
    assert [each.day for each in values(far)] == [date(2026, 5, 31)]
    assert values(far, first_day=date(2026, 6, 1)) == []
    assert len(values(far, first_day=date(2026, 5, 31), service=last_of_may.service)) == 1
    assert values(far, service=factories.ServiceFactory(studio=far)) == []


def bulk_held(studio, count):
    """So many held sessions with all their rows, written in a few statements."""
    service, fitter, bay = studio.services.get(), studio.fitters.first(), studio.bays.first()
    clients = Client.objects.bulk_create(Client(name=f"R {n}", email=f"r{n}@tarnfell.example") for n in range(count))
    bikes = Bike.objects.bulk_create(Bike(client=each, name="Road bike", kind="road") for each in clients)
    checks = PreVisitCheck.objects.bulk_create(PreVisitCheck(client=each.client, bike=each) for each in bikes)
    given = {"studio": studio, "service": service, "fitter": fitter, "bay": bay, "planned_min": 90, "slack_min": 15}
    sessions = FitSession.objects.bulk_create(
        FitSession(
            client=check.client,
            bike=check.bike,
            pre_visit=check,
            state="done",
            starts_at=NOW - timedelta(hours=5 * number + 48),
            ends_at=NOW - timedelta(hours=5 * number + 46),
            **given,
        )
        for number, check in enumerate(checks)
    )
    records = [FitRecord(fit_session=each, closed_at=NOW + timedelta(minutes=1)) for each in sessions]
    records = FitRecord.objects.bulk_create(records)
    TimeLoss.objects.bulk_create(
        TimeLoss(fit_record=record, finding_key="post_slides.stuck", minutes=20 + number % 30)
        for number, record in enumerate(records)
    )
    TriageSnapshot.objects.bulk_create(
        factories.TriageSnapshotFactory.build(pre_visit=check, moment="day", forecast=[0.5, *[0.0] * 20, 0.5])
        for check in checks
    )


def test_as_many_queries_for_two_thousand_sessions_as_for_twenty(studio, django_assert_num_queries):
    """Six, whatever was held."""
    bulk_held(studio, 20)
    with django_assert_num_queries(6):
        assert len(values(studio)) == 20
    bulk_held(studio, 1980)
    with django_assert_num_queries(6):
        assert len(values(studio)) == 2000


def test_the_page_asks_the_database_the_same_however_much_was_held(owner_client, studio, django_assert_num_queries):
    """Log-in, the form's choices, and the six."""
    for count in (1, 40):
        bulk_held(studio, count)
        with django_assert_num_queries(13):
            assert owner_client.get(PAGE).status_code == 200


def test_the_page_shows_what_was_computed(owner_client, studio):
    """Two sessions, one of which lost 40 minutes of 90 planned beyond its 15 of slack."""
    held(studio, lost={"post_slides.stuck": 55})
    held(studio, days_ago=40, verdicts={"booking": "clear", "day": "clear"})
    page = owner_client.get(PAGE)
    figures, html = page.context["figures"], page.content.decode()
    lost_min = 55 - figures.sessions[0].slack_min
    planned_min = figures.sessions[0].planned_min
    assert figures.kept_pct == pytest.approx(100 * (2 * planned_min - lost_min) / (2 * planned_min))
    assert [row.month for row in figures.month_rows] == [date(2026, 6, 1), date(2026, 5, 1)]
    assert (figures.lighter.count, figures.lighter.total) == (1, 2)
    assert (figures.accuracy.within.count, figures.accuracy.within.total) == (1, 2)
    assert html.count('class="scene"') == 2
    assert "Not kept" in html
    assert "read every share here as an impression" in html


def test_no_session_yet_says_so(owner_client, studio):
    """An empty studio is no error, and one with older sessions leads to all there is."""
    assert "No session of this choice" in owner_client.get(PAGE).content.decode()
    held(studio, days_ago=500)
    assert not owner_client.get(PAGE).context["figures"].sessions
    assert owner_client.get(PAGE, {"months": "all"}).context["figures"].sessions


def test_without_a_studio_the_page_opens(owner_client):
    """Before the owner has set anything up."""
    assert owner_client.get(PAGE).status_code in {200, 422}


@pytest.mark.parametrize("name", ["studio", "months", "service"])
@pytest.mark.parametrize(
    "value", ["9" * 30, "-1", "nan", "<script>alert(1)</script>", "🚲", "\u202etxet", "a\x00b", "1e9"]
)
def test_a_choice_off_the_list_is_refused_in_place(owner_client, studio, name, value):
    """The page and every table say so beside the field, and count nothing."""
    held(studio)
    for address in (PAGE, reverse("figures:export", args=["sessions"])):
        answer = owner_client.get(address, {name: value})
        assert answer.status_code == 422
        shown = answer.content.decode()
        assert ("Null characters are not allowed." if "\x00" in value and name != "months" else "Choose one") in shown
        assert "<script>alert" not in answer.content.decode()


def test_a_service_of_another_studio_is_refused(owner_client, studio):
    """It would count nothing without a word."""
    other = factories.studio_with_hours().services.get()
    answer = owner_client.get(PAGE, {"studio": studio.pk, "service": other.pk})
    assert answer.status_code == 422
    assert "another studio" in answer.content.decode()


def table(browser, slug, **choice):
    """The rows of one table, read as a spreadsheet does."""
    answer = browser.get(reverse("figures:export", args=[slug]), choice)
    assert answer.streaming
    assert answer["Content-Type"].startswith("text/csv; charset=utf-8")
    assert f'filename="{slug}-2026-06-15.csv"' in answer["Content-Disposition"]
    text = b"".join(answer.streaming_content)
    assert text.startswith(b"\xef\xbb\xbf")
    assert text.count(b"\r\n") == text.count(b"\n")
    return list(csv.reader(io.StringIO(text.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize("slug", EXPORTS)
def test_every_table_can_be_taken_away(owner_client, studio, slug):
    """Header with units, rows of its length, and nothing personal."""
    made = held(studio, lost={"post_slides.stuck": 25})
    rows = table(owner_client, slug)
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(EXPORTS[slug].header)}
    everything = str(rows)
    for personal in (made.client.name, made.client.email, made.bike.name, made.fitter.name):
        assert personal not in everything


def test_the_table_of_sessions(owner_client, studio):
    """One line a session, in numbers that a spreadsheet can add up."""
    made = held(studio, lost={"post_slides.stuck": 25})
    header, row = table(owner_client, "sessions")
    told = dict(zip(header, row, strict=True))
    assert told["session"] == str(made.pk)
    assert (told["month"], told["day"]) == ("2026-06", "2026-06-05")
    assert [told[name] for name in ("at booking", "three days before", "on the day")] == [
        "Ask the rider",
        "Fix first",
        "Clear",
    ]
    assert told["forecast 90th percentile (min)"] == "10"
    assert told["actual (min)"] == "25"
    assert float(told["hands-on kept (min)"]) == made.planned_min + made.slack_min - 25


def test_a_service_named_like_a_formula_stays_text(owner_client, studio):
    """A spreadsheet must not run what somebody typed as a name."""
    made = held(studio)
    made.service.name = '=HYPERLINK("http://tarnfell.example")'
    made.service.save()
    header, row = table(owner_client, "sessions")
    assert row[header.index("service")] == '\'=HYPERLINK("http://tarnfell.example")'


def test_tables_follow_the_choice_of_the_page(owner_client, studio):
    """The links carry it along."""
    held(studio, days_ago=200)
    assert len(table(owner_client, "sessions", months="3")) == 1
    assert len(table(owner_client, "sessions", months="12")) == 2
    html = owner_client.get(PAGE, {"months": "24"}).content.decode()
    assert f"?studio={studio.pk}&amp;months=24" in html


def test_an_unknown_table_is_not_found(owner_client, studio):
    """Nothing is guessed."""
    assert owner_client.get(reverse("figures:export", args=["riders"])).status_code == 404


def test_owners_only(client, fitter_client, studio):
    """Fitters see no figures of one another's days."""
    for address in (PAGE, reverse("figures:export", args=["sessions"])):
        assert fitter_client.get(address).status_code == 403
