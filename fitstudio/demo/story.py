"""Play what happened to the demo's riders, each step at its own time and through the product's own services."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from fitstudio.accounts.models import User
from fitstudio.demo.answers import answer_all, answer_some
from fitstudio.demo.asking import play_asking
from fitstudio.demo.bench import play_record
from fitstudio.demo.catalogue import publish_edition
from fitstudio.demo.chasing import play_chasing
from fitstudio.demo.clock import clock_at
from fitstudio.demo.costs import set_costs
from fitstudio.demo.days import DemoDays
from fitstudio.demo.workshops import play_workshops
from intake.models import Bike, SnapshotMoment
from intake.models.snapshots import DAYS_BEFORE
from intake.services.discomfort import Felt, save_discomfort
from intake.services.snapshots import keep_snapshot
from intake.services.submission import submit
from intake.slots import slot_of
from intake.tasks import send_waiting_mail
from intake.triage.answers import Ruling
from sessions.diary.states import SessionState
from sessions.models import FitSession, Studio
from sessions.selectors.review.slot_options import basis_of
from sessions.services.booking.book import book
from sessions.services.booking.history import change_state
from sessions.services.booking.moves import cancel_session, move_session
from sessions.services.booking.riders import BikeDetails, RiderDetails
from sessions.services.review.decisions import confirm_session, rule_on_finding
from sessions.services.review.slot_decisions import extend_slot

BOOKED_AT, ANSWERED_AT, DECIDED_AT, MOVED_AT = time(10, 20), time(19, 40), time(8, 45), time(9, 10)
AFTERNOON = time(16, 5)


@dataclass(frozen=True)
class Stage:
    """Where the story plays: the studio, who works there, and its days."""

    studio: Studio
    staff: dict[str, User]
    days: DemoDays

    @property
    def fitter(self) -> User:
        """Return who decides and measures."""
        return self.staff["marit"]


def play(riders: list[dict[str, Any]], *, studio: Studio, staff: dict[str, User], days: DemoDays) -> None:
    """Play every session of every rider, from the booking to where it stands now."""
    stage = Stage(studio, staff, days)
    set_costs(studio)
    publish_edition(owner=staff["owner"], days=days)
    for number, rider in enumerate(riders):
        for session_number, told in enumerate(rider["sessions"]):
            _play(stage, rider, told, request_key=f"demo-{number}-{session_number}")
    play_workshops(staff=staff, days=days)
    play_asking(staff=staff, days=days)
    play_chasing(days=days)


def _play(stage: Stage, rider: dict[str, Any], told: dict[str, Any], *, request_key: str) -> None:
    fit_session = _book(stage, rider, told, request_key)
    if "check" in told:
        _answer(stage, fit_session, told)
    if "moved" in told:
        _move(stage, fit_session, told["moved"])
    if "decided" in told:
        _decide(stage, fit_session, told)
    OUTCOMES[told.get("outcome", "held")](stage, fit_session, told)


def _book(stage: Stage, rider: dict[str, Any], told: dict[str, Any], request_key: str) -> FitSession:
    facts = dict(rider["bike"])
    details = {key: rider[key] for key in ("name", "email", "latin_name", "phone", "length_unit") if key in rider}
    with clock_at(stage.days.ago(told["booked"], BOOKED_AT)):
        booking = book(
            service=stage.studio.services.get(slug=told["service"]),
            start=stage.days.start(told["open_day"], told["time"]),
            rider=RiderDetails(**details),
            bike=BikeDetails(facts.pop("name"), facts.pop("kind")),
            request_key=request_key,
            wish=told.get("wish", ""),
            by=stage.staff[told["by_desk"]] if "by_desk" in told else None,
            with_notice="by_desk" not in told,
        )
        send_waiting_mail.call()
    Bike.objects.filter(pk=booking.fit_session.bike_id).update(**facts)
    booking.fit_session.bike.refresh_from_db()
    return booking.fit_session


def _pass(fit_session: FitSession, until: datetime) -> None:
    """Let the worker keep the moment that the session reaches before its next step."""
    zone = fit_session.studio.zone
    reached_on = fit_session.starts_at.astimezone(zone).date() - timedelta(days=DAYS_BEFORE[SnapshotMoment.THREE_DAYS])
    reached = datetime.combine(reached_on, time.min, zone)
    if fit_session.created_at < reached < until:
        with clock_at(reached):
            keep_snapshot(fit_session.pre_visit, SnapshotMoment.THREE_DAYS)


def _answer(stage: Stage, fit_session: FitSession, told: dict[str, Any]) -> None:
    pre_visit, then = fit_session.pre_visit, stage.days.ago(told["answered"], ANSWERED_AT)
    _pass(fit_session, then)
    with clock_at(then):
        session_slot = slot_of(pre_visit.pk)
        fill = answer_all if told["check"] == "all" else answer_some
        fill(pre_visit, session_slot, told.get("answers", {}))
        for place in told.get("discomfort", []):
            felt = Felt(place["score"], place.get("after_min"))
            side = place.get("side", "")
            save_discomfort(pre_visit=pre_visit, session_slot=session_slot, area=place["area"], side=side, felt=felt)
        if told["check"] == "all":
            submit(pre_visit=pre_visit, session_slot=session_slot, note=told.get("note", ""))
        send_waiting_mail.call()


def _move(stage: Stage, fit_session: FitSession, moved: dict[str, Any]) -> None:
    with clock_at(stage.days.ago(moved["days_ago"], MOVED_AT)):
        start = stage.days.start(moved["to_open_day"], moved["to_time"])
        move_session(fit_session=fit_session, new_start=start, by=stage.staff["noor"])
        send_waiting_mail.call()


def _decide(stage: Stage, fit_session: FitSession, told: dict[str, Any]) -> None:
    then = stage.days.ago(told["decided"], DECIDED_AT)
    _pass(fit_session, then)
    with clock_at(then):
        for each in told.get("decisions", []):
            ruling, note = Ruling(each["ruling"]), each.get("note", "")
            rule_on_finding(fit_session=fit_session, key=each["finding"], ruling=ruling, note=note, by=stage.fitter)
        if extra_min := told.get("slot", {}).get("extend_min"):
            basis = basis_of(fit_session, None)
            extend_slot(fit_session=fit_session, basis=basis, extra_min=extra_min, by=stage.fitter)
            fit_session.refresh_from_db()
        send_waiting_mail.call()


def _leave(stage: Stage, fit_session: FitSession, told: dict[str, Any]) -> None:
    """Nothing more has happened yet."""


def _hold(stage: Stage, fit_session: FitSession, told: dict[str, Any]) -> None:
    """Confirm, and go to the bench as far as the clock has come."""
    then = stage.days.ago(told["decided"], AFTERNOON)
    _pass(fit_session, then)
    with clock_at(then):
        confirm_session(fit_session=fit_session, by=stage.fitter)
    _pass(fit_session, min(fit_session.starts_at, stage.days.now))
    if "record" in told:
        play_record(told["record"], fit_session=fit_session, fitter=stage.fitter, now=stage.days.now)


def _no_show(stage: Stage, fit_session: FitSession, told: dict[str, Any]) -> None:
    with clock_at(fit_session.starts_at + timedelta(minutes=30)):
        change_state(fit_session=fit_session, to=SessionState.NO_SHOW, by=stage.fitter)


def _cancel(stage: Stage, fit_session: FitSession, told: dict[str, Any]) -> None:
    with clock_at(stage.days.ago(told["booked"], AFTERNOON)):
        cancel_session(fit_session=fit_session, by=stage.staff["noor"])
        send_waiting_mail.call()


OUTCOMES = {"held": _hold, "booked": _leave, "no_show": _no_show, "cancelled": _cancel}
