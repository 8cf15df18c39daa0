"""The demo's workshops, and what they were sent and have answered."""

from datetime import time
from typing import Any
from uuid import UUID

from fitstudio.accounts.models import User
from fitstudio.demo.clock import clock_at
from fitstudio.demo.days import DemoDays
from fitstudio.demo.files import read
from intake.models import JobSheet, Workshop
from intake.slots import slot_of
from intake.tasks import send_waiting_mail
from sessions.models import FitSession
from sessions.selectors.workshop.sheets import job_sheets, shown
from sessions.services.workshop.answers import answer_line
from sessions.services.workshop.mail import GATHERED_FOR, draft_letter, mail_job_sheet
from sessions.services.workshop.sheets import Recipient, Shared, make_job_sheet

MADE_AT, FIRST_ANSWERED_AT = time(9, 15), 15


def play_workshops(*, staff: dict[str, User], days: DemoDays) -> None:
    """Write the list of workshops, then play each job sheet at its own times."""
    told = read("workshops.toml")
    Workshop.objects.bulk_create(Workshop(**workshop) for workshop in told["workshops"])
    for number, sheet in enumerate(told["job_sheets"], start=1):
        _play(sheet, staff=staff, days=days, request_key=UUID(int=number))


def _play(told: dict[str, Any], *, staff: dict[str, User], days: DemoDays, request_key: UUID) -> None:
    fit_session = FitSession.objects.select_related("studio", "client", "bike", "pre_visit__client").get(
        client__email=told["rider"]
    )
    with clock_at(days.ago(told["made"], MADE_AT)):
        sheet = _made(told, fit_session, staff[told["by"]], request_key)
        send_waiting_mail.call()
    for number, answer in enumerate(told["answers"]):
        then = days.ago(answer["answered"], time(FIRST_ANSWERED_AT, 3 * number))
        with clock_at(then):
            _answer(answer, sheet, fit_session, UUID(int=number))
    with clock_at(then + GATHERED_FOR):
        send_waiting_mail.call()


def _made(told: dict[str, Any], fit_session: FitSession, by: User, request_key: UUID) -> JobSheet:
    workshop = Workshop.objects.get(name=told["workshop"])
    sheet = make_job_sheet(
        fit_session=fit_session,
        keys=told["lines"],
        recipient=Recipient(workshop.name, workshop.email, workshop),
        note=told["note"],
        shared=Shared(**dict.fromkeys(told["share"], True)),
        request_key=request_key,
        by=by,
    )
    found = shown(job_sheets().get(pk=sheet.pk), slot_of(sheet.pre_visit_id))
    mail_job_sheet(found=found, fit_session=fit_session, letter=draft_letter(found, fit_session))
    return sheet


def _answer(told: dict[str, Any], sheet: JobSheet, fit_session: FitSession, request_key: UUID) -> None:
    answer_line(
        line=sheet.lines.get(finding_key=told["line"]),
        fit_session=fit_session,
        outcome=told["outcome"],
        note=told["note"],
        answered_by=told["name"],
        request_key=request_key,
    )
