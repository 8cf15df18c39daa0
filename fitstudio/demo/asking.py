"""The demo's riders who are asked for a little more: the few answers that decide, and whether a complaint went after a repair."""

from datetime import time
from typing import Any

from fitstudio.accounts.models import User
from fitstudio.demo.clock import clock_at
from fitstudio.demo.days import DemoDays
from fitstudio.demo.files import read
from intake.selectors.catalogue import current_catalogue
from intake.selectors.outcomes import after_repairs
from intake.selectors.triage import triage_input
from intake.services.outcomes import keep_outcome
from intake.slots import slot_of
from intake.tasks import send_waiting_mail
from intake.triage.answers import Ruling
from sessions.models import FitSession
from sessions.selectors.review.page import review_page, reviewed_sessions
from sessions.services.review.decisions import rule_on_finding
from sessions.services.review.rider_letters import ask_few

ASKED_AT, FIXED_AT, RIDDEN_AT = time(11, 30), time(16, 20), time(19, 5)


def play_asking(*, staff: dict[str, User], days: DemoDays) -> None:
    """Ask each of the riders, and let those whose bike was put right say how it is now."""
    told = read("asking.toml")
    for each in told["few"]:
        with clock_at(days.ago(each["asked"], ASKED_AT)):
            _ask(_session_of(each["rider"]), by=staff[each["by"]])
            send_waiting_mail.call()
    for each in told["outcomes"]:
        _go_on_from_a_repair(each, staff=staff, days=days)


def _session_of(email: str) -> FitSession:
    return reviewed_sessions().get(client__email=email)


def _ask(fit_session: FitSession, *, by: User) -> None:
    shown = review_page(fit_session).deciding
    ask_few(fit_session=fit_session, keys=shown.keys.split(), seen=shown.seen, by=by)


def _go_on_from_a_repair(told: dict[str, Any], *, staff: dict[str, User], days: DemoDays) -> None:
    fit_session = _session_of(told["rider"])
    pre_visit, by = fit_session.pre_visit, staff[told["by"]]
    with clock_at(days.ago(told["fixed"], FIXED_AT)):
        rule_on_finding(fit_session=fit_session, key=told["finding"], ruling=Ruling.FIXED, note=told["note"], by=by)
    with clock_at(days.ago(told["ridden"], RIDDEN_AT)):
        session_slot = slot_of(pre_visit.pk)
        places = after_repairs(pre_visit, triage_input(pre_visit, session_slot, current_catalogue()))
        (place,) = [each for each in places if each.key == told["place"]]
        keep_outcome(pre_visit=pre_visit, session_slot=session_slot, after=place, score_now=told["score_now"])
