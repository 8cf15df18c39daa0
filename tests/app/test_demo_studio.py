"""The demo studio, loaded on any day: every kind of trouble and none, at times at which the studio is open."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from fitstudio.accounts.models import User
from fitstudio.demo.addresses import addresses, point_mails_at
from fitstudio.demo.clock import clock_at
from fitstudio.demo.days import demo_days
from fitstudio.demo.files import read
from fitstudio.demo.studio import is_empty, is_out_of_date, load_demo_studio
from intake.models import Client, OutgoingMail, RiderLink, TriageSnapshot
from intake.services.links import open_link
from intake.triage.verdict import Verdict
from sessions.models import FitRecord, FitSession, Occupancy, StateChange, Studio, TimeLoss
from sessions.selectors.bench.positions import positions_of
from sessions.selectors.closures import public_holidays

pytestmark = pytest.mark.django_db

# A working afternoon; a Sunday night among public holidays; the night on which the clocks go forward.
MOMENTS = [
    datetime(2026, 11, 25, 17, 20, tzinfo=UTC),
    datetime(2026, 12, 27, 23, 40, tzinfo=UTC),
    datetime(2027, 3, 28, 1, 30, tzinfo=UTC),
]


@pytest.fixture(params=MOMENTS, ids=str)
def now(request):
    """The moment at which the demo is loaded."""
    with time_machine.travel(request.param, tick=False):
        yield request.param


@pytest.fixture
def demo(now):
    """The loaded studio."""
    return load_demo_studio()


def test_the_loaded_studio(demo, now):
    """One load, looked at from every side: loading takes a second or two."""
    nobody_is_booked_while_the_studio_is_closed(demo)
    every_kind_of_trouble_and_some_with_none()
    history_is_whole(now)
    what_lies_in_the_past_is_done(now)
    records_hang_together()
    past_months_have_their_figures()
    mails_went_at_their_time(now)
    names_in_every_script()
    links_lead_to_their_riders()
    staff_can_log_in()
    assert not is_empty()
    assert not is_out_of_date()


def nobody_is_booked_while_the_studio_is_closed(studio):
    """Opening hours, closure and public holidays hold for the demo as for any studio."""
    closed = studio.closures.get()
    for fit_session in FitSession.objects.all():
        starts, ends = (each.astimezone(studio.zone) for each in (fit_session.starts_at, fit_session.ends_at))
        assert not closed.first_day <= starts.date() <= closed.last_day
        assert starts.date() not in public_holidays(studio, [starts.year])
        hours = studio.opening_hours.filter(weekday=starts.weekday())
        assert any(each.opens <= starts.time() and ends.time() <= each.closes for each in hours), fit_session


def every_kind_of_trouble_and_some_with_none():
    """All five verdicts, a red flag, a check not begun, one half done, decisions, all states of interest."""
    coming = FitSession.objects.filter(starts_at__gt=timezone.now()).select_related("pre_visit__summary")
    every = FitSession.objects.select_related("pre_visit__summary")
    assert {each.pre_visit.summary.verdict for each in every} == set(Verdict)
    assert any(each.pre_visit.summary.stopped for each in coming)
    answers = {each.pre_visit.answers.count() for each in coming}
    assert 0 in answers
    assert any(each.pre_visit.submitted_at is None and each.pre_visit.answers.exists() for each in coming)
    assert {"booked", "done", "no_show", "cancelled", "moved"} <= set(every.values_list("state", flat=True))


def history_is_whole(now):
    """Every session began, every step is kept in order, nothing happened in the future."""
    for fit_session in FitSession.objects.all():
        steps = list(fit_session.history.order_by("pk"))
        assert steps[0].from_state == ""
        assert steps[-1].to_state == fit_session.state
        assert [step.changed_at for step in steps] == sorted(step.changed_at for step in steps)
        assert fit_session.created_at <= fit_session.starts_at
    assert not StateChange.objects.filter(changed_at__gt=now).exists()
    assert not Occupancy.objects.filter(fit_session__state__in=["cancelled", "no_show"]).exists()


def what_lies_in_the_past_is_done(now):
    """A session of yesterday does not wait for its rider."""
    past = FitSession.objects.filter(ends_at__lt=now).values_list("state", flat=True)
    assert set(past) <= {"done", "no_show"}
    assert FitRecord.objects.filter(closed_at__isnull=False).count() >= 2


def records_hang_together():
    """The readings of both phases solve, without one that contradicts the others, and the session changed something."""
    for record in FitRecord.objects.filter(closed_at__isnull=False, readings__isnull=False).distinct():
        positions = positions_of(record)
        assert positions.before.position is not None
        assert positions.after.position is not None
        assert any(change.real for change in positions.changes)


def past_months_have_their_figures():
    """What was held months ago has its three moments, in order of time, and the minutes that it lost."""
    held = FitRecord.objects.filter(closed_at__isnull=False, readings__isnull=True)
    assert held.count() >= 50
    assert TimeLoss.objects.filter(fit_record__in=held).count() >= 50
    for record in held.prefetch_related("fit_session__pre_visit__snapshots"):
        taken = {each.moment: each.taken_at for each in record.fit_session.pre_visit.snapshots.all()}
        assert taken["booking"] <= taken["three_days"] <= taken["day"] <= record.closed_at
    verdicts = set(TriageSnapshot.objects.filter(moment="day").values_list("verdict", flat=True))
    assert {"clear", "fix_first", "ask_rider"} <= verdicts


def mails_went_at_their_time(now):
    """Nothing waits, nothing is dated after now, and no task is left for the worker."""
    assert set(OutgoingMail.objects.values_list("state", flat=True)) == {"sent"}
    assert not OutgoingMail.objects.filter(sent_at__gt=now).exists()
    assert OutgoingMail.objects.filter(sent_at__lt=now - timedelta(days=7)).exists()
    assert DBTaskResult.objects.count() == 0


def names_in_every_script():
    """Latin Extended, Greek, Cyrillic, Chinese or Japanese, Korean; a Latin form wherever there is none in the name."""
    names = " ".join(Client.objects.values_list("name", flat=True))
    for letter in "ŁÞữ林김ηя":
        assert letter in names
    for client in Client.objects.all():
        assert client.latin_name or any("a" <= letter.casefold() <= "ž" for letter in client.name)


def links_lead_to_their_riders():
    """The addresses that are printed open, and belong to riders in different states."""
    printed = addresses("http://127.0.0.1:8000")
    links = [open_link(token) for token in _tokens(printed)]
    assert len({link.pre_visit.client_id for link in links}) == 2
    states = {link.pre_visit.fit_session.state for link in links}
    assert states == {"booked", "done"}
    assert RiderLink.objects.count() == FitSession.objects.count()


def _tokens(printed):
    return [line.split("/r/")[1].strip("/\n ") for line in printed.splitlines() if "/r/" in line]


def staff_can_log_in():
    """With the printed password: one owner, two fitters who take sessions, one at the front desk."""
    password = read("studio.toml")["staff"]["password"]
    staff = list(User.objects.order_by("role"))
    assert [user.role for user in staff] == ["desk", "fitter", "fitter", "owner"]
    assert all(user.check_password(password) for user in staff)
    assert Studio.objects.get().fitters.filter(user__role="fitter").count() == 2


def test_mails_lead_to_where_the_demo_runs_now(db):
    """A port that was free yesterday may be taken today."""
    kept = OutgoingMail.objects.create(
        key="k", to="a@tarnfell.example", subject="s", body="See http://127.0.0.1:8000/r/x/ ."
    )
    assert point_mails_at("http://127.0.0.1:8017") == 1
    kept.refresh_from_db()
    assert kept.body == "See http://127.0.0.1:8017/r/x/ ."
    assert point_mails_at("http://127.0.0.1:8017") == 0


def test_the_clock_is_put_back_whatever_happens():
    """A story that fails must not leave the product in the past."""
    before = timezone.now

    def fail():
        with clock_at(MOMENTS[0]):
            assert timezone.now() == MOMENTS[0]
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert timezone.now is before


def test_days_are_counted_where_the_studio_is_open_long(studio):
    """Weekends, short days, closures and public holidays are passed over, in both directions."""
    days = demo_days(studio, datetime(2026, 12, 24, 12, tzinfo=UTC))
    assert [day.isoformat() for day in days.ahead[:3]] == ["2026-12-24", "2026-12-29", "2026-12-30"]
    assert days.day(-1).isoformat() == "2026-12-23"
