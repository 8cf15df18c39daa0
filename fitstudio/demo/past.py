"""Play the studio's past months: sessions that were booked, checked, put right and held, each step at its own time."""

import heapq
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from random import Random
from typing import Any

from django.conf import settings
from django.utils import timezone

from fitstudio.accounts.models import User
from fitstudio.demo.clock import clock_at
from fitstudio.demo.days import long_days
from fitstudio.demo.files import read
from fitstudio.demo.past_bikes import Step, answers_of, bench_min, faults_of, ruling_of, steps_of
from intake.catalogue.schema import Who
from intake.models import (
    Bike,
    CheckAnswer,
    Client,
    FindingDecision,
    PreVisitCheck,
    RepairReport,
    SnapshotMoment,
    TriageSnapshot,
)
from intake.models.repairs import RepairOutcome, RepairSource
from intake.models.snapshots import DAYS_BEFORE
from intake.selectors.catalogue import current_catalogue
from intake.selectors.experience import studio_experience
from intake.selectors.repairs import lifts
from intake.selectors.triage import judge, triage_input
from intake.services.experience import learn_from
from intake.services.links import issue_link
from intake.services.snapshots import due_moments, snapshots_of
from intake.services.triage import summary_of
from intake.slots import slot_of
from intake.triage.answers import Answer, Experience, Ruling, TriageInput
from intake.triage.engine import Triage
from sessions.diary.states import SessionState
from sessions.models import FitRecord, FitSession, StateChange, Studio, TimeLoss
from sessions.services.booking.occupancy import occupy

NEWEST, OLDEST = timedelta(days=24), timedelta(days=215)
LATE = 0.12  # the share of riders who book in the last days
ANSWERING = (0.7, 0.25)  # the share who do the check in the first month, and how much it grew by the last
OTHER_LOSS = 0.15
MIDNIGHT, BREAKFAST, MORNING, EVENING = time(0, 5), time(7, 15), time(8, 5), time(19, 40)


@dataclass
class Past:
    """Where these months play, and what the studio has learned so far."""

    studio: Studio
    staff: dict[str, User]
    told: dict[str, Any]
    zone: Any
    learned: Experience = field(default_factory=Experience)

    def at(self, day: date, clock: time) -> datetime:
        """Return a time on a day of the studio's."""
        return datetime.combine(day, clock, self.zone)


@dataclass
class Known:
    """One session as the triage is given it, kept at hand: to read it from its rows each time would take the demo too long."""

    past: Past
    fit_session: FitSession
    start: TriageInput
    answers: dict[str, Answer] = field(default_factory=dict)
    rulings: dict[str, Ruling] = field(default_factory=dict)
    kept: list[TriageSnapshot] = field(default_factory=list)

    def given(self) -> TriageInput:
        """Return what the triage would be given now."""
        slot = replace(self.start.slot, today=timezone.localdate(timezone=self.past.zone))
        learned, told = self.past.learned, {"answers": self.answers, "rulings": self.rulings}
        return replace(self.start, slot=slot, experience=learned, **told)

    def keep(self, *moments: SnapshotMoment) -> Triage:
        """Judge, and keep these moments."""
        given = self.given()
        result = judge(given)
        self.kept += snapshots_of(self.fit_session.pre_visit_id, moments, given, result)
        return result


def play_past(*, studio: Studio, staff: dict[str, User], now: datetime) -> None:
    """Play all sessions side by side, always the step that comes next."""
    past = Past(studio, staff, read("past.toml"), studio.zone)
    today = now.astimezone(studio.zone).date()
    days = long_days(studio, today - OLDEST, today - NEWEST)
    lives = [_life(past, number, day) for number, day in enumerate(_spread(days, past.told["sessions"]))]
    steps = [(next(life), number) for number, life in enumerate(lives)]
    heapq.heapify(steps)
    while steps:
        moment, number = heapq.heappop(steps)
        with clock_at(moment):
            coming = next(lives[number], None)
        if coming is not None:
            heapq.heappush(steps, (coming, number))


def _spread(days: list[date], count: int) -> list[date]:
    return [days[number * len(days) // count] for number in range(count)]


def _life(past: Past, number: int, day: date) -> Iterator[datetime]:
    """Yield the time of each step of one session before it is done."""
    rng = Random(f"wrenfield {number}")  # noqa: S311 - a demo's dice
    lead_days = rng.randint(1, 2) if rng.random() < LATE else rng.randint(6, 35)
    care = number / past.told["sessions"]
    answering = rng.randint(1, lead_days) - 1 if rng.random() < ANSWERING[0] + ANSWERING[1] * care else lead_days
    yield past.at(day - timedelta(days=lead_days), time(10, rng.randint(0, 59)))
    fit_session = _book(past, number, past.at(day, rng.choice(past.told["times"])))
    known = Known(past, fit_session, _given(fit_session))
    known.keep(SnapshotMoment.BOOKING, *due_moments(known.given().slot))
    faults = faults_of(known.given(), past.told, rng)
    steps: list[Step] = []
    for days_before in range(lead_days - 1, -1, -1):
        then = day - timedelta(days=days_before)
        if days_before == DAYS_BEFORE[SnapshotMoment.THREE_DAYS]:
            yield past.at(then, MIDNIGHT)
            known.keep(SnapshotMoment.THREE_DAYS)
        for step in [each for each in steps if each.days_before == days_before]:
            yield past.at(then, MORNING)
            _put_right(past, known, step)
            faults.pop(step.key.partition(".")[0], None) if ruling_of(step) is None else None
        if days_before == answering:
            yield past.at(then, BREAKFAST if days_before == 0 else EVENING)
            _answer(known, faults, rng)
            steps = steps_of(known.given(), days_before, care, rng)
    yield fit_session.starts_at
    record = _begin(known)
    yield fit_session.ends_at
    _close(past, record, faults, rng)


def _book(past: Past, number: int, start: datetime) -> FitSession:
    studio, told, rng = past.studio, past.told, Random(number)  # noqa: S311 - a demo's dice
    given, family = told["given"][number % len(told["given"])], told["family"][number * 7 % len(told["family"])]
    facts, place = rng.choice(told["bikes"]), number % 2
    service = studio.services.get(slug=rng.choice(told["services"]))
    client = Client.objects.create(name=f"{given} {family}", email=f"rider{number}@tarnfell.example")
    bike = Bike.objects.create(client=client, **facts)
    pre_visit = PreVisitCheck.objects.create(client=client, bike=bike)
    fit_session = FitSession.objects.create(
        studio=studio,
        service=service,
        client=client,
        bike=bike,
        fitter=studio.fitters.all()[place],
        bay=studio.bays.all()[place],
        pre_visit=pre_visit,
        starts_at=start,
        ends_at=start + timedelta(minutes=service.length_min),
        planned_min=service.planned_min,
        slack_min=service.slack_min,
        buffer_before_min=service.buffer_before_min,
        buffer_after_min=service.buffer_after_min,
    )
    occupy(fit_session)
    _step(fit_session, SessionState.BOOKED, None)
    issue_link(pre_visit=pre_visit, expires_at=fit_session.ends_at + timedelta(days=settings.RIDER_LINK_DAYS_AFTER))
    return fit_session


def _step(fit_session: FitSession, to: SessionState, by: User | None) -> None:
    last = fit_session.history.order_by("pk").last()
    before = last.to_state if last else ""
    StateChange.objects.create(fit_session=fit_session, from_state=before, to_state=to.value, changed_by=by)
    FitSession.objects.filter(pk=fit_session.pk).update(state=to.value)


def _given(fit_session: FitSession) -> TriageInput:
    pre_visit = fit_session.pre_visit
    return triage_input(pre_visit, slot_of(pre_visit.pk), current_catalogue())


def _answer(known: Known, faults: dict[str, str], rng: Random) -> None:
    pre_visit, given, now = known.fit_session.pre_visit, known.given(), timezone.now()
    known.answers = answers_of(given, faults, rng)
    CheckAnswer.objects.bulk_create(
        CheckAnswer(
            pre_visit=pre_visit,
            check_key=key,
            option=answer.option,
            lengths_mm=dict(answer.lengths_mm),
            catalogue_version=given.catalogue.version,
            answered_at=now,
        )
        for key, answer in known.answers.items()
    )
    PreVisitCheck.objects.filter(pk=pre_visit.pk).update(submitted_at=now)


def _put_right(past: Past, known: Known, step: Step) -> None:
    ruling, about = ruling_of(step), {"pre_visit": known.fit_session.pre_visit, "finding_key": step.key}
    if ruling is not None:
        FindingDecision.objects.create(**about, ruling=ruling.value, decided_by=past.staff["marit"])
        known.rulings[step.key] = ruling
        return
    source = RepairSource.WORKSHOP if step.who == Who.WORKSHOP else RepairSource.RIDER
    report = RepairReport.objects.create(**about, source=source, outcome=RepairOutcome.DONE)
    if lifts(report, known.start.catalogue):
        known.rulings[step.key] = Ruling.FIXED


def _begin(known: Known) -> FitRecord:
    fit_session, late = known.fit_session, {each.moment for each in known.kept}
    result = known.keep(*({SnapshotMoment.DAY} - late))
    TriageSnapshot.objects.bulk_create(known.kept)
    summary_of(fit_session.pre_visit_id, result, known.start.catalogue.version).save()
    _step(fit_session, SessionState.UNDER_WAY, known.past.staff["marit"])
    return FitRecord.objects.create(fit_session=fit_session)


def _close(past: Past, record: FitRecord, faults: dict[str, str], rng: Random) -> None:
    catalogue = current_catalogue()
    lost = {f"{key}.{fault}": bench_min(catalogue.check(key).fault(fault), rng) for key, fault in faults.items()}
    if rng.random() < OTHER_LOSS:
        lost[""] = rng.randint(5, 15)
    TimeLoss.objects.bulk_create(
        TimeLoss(fit_record=record, finding_key=key, minutes=minutes) for key, minutes in lost.items() if minutes
    )
    FitRecord.objects.filter(pk=record.pk).update(
        closed_at=timezone.now(), closed_by=past.staff["marit"], nothing_lost=not any(lost.values())
    )
    learn_from(pre_visit=record.fit_session.pre_visit, lost_min={key: each for key, each in lost.items() if each})
    past.learned = studio_experience(catalogue)
    _step(record.fit_session, SessionState.DONE, past.staff["marit"])
