"""Two letters to the rider that one tap sends: a few questions that decide, and the offer to change or cancel what may not be needed."""

from collections.abc import Collection, Iterable

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from intake.catalogue.schema import Check
from intake.models import OutgoingMail, QuestionRequest
from intake.selectors.catalogue import current_catalogue
from intake.selectors.links import full_address, newest_link
from intake.selectors.outcomes import after_repairs
from intake.selectors.triage import triage_input
from intake.services.answers import CheckClosedError
from intake.services.mail import queue_mail
from intake.services.question_requests import AskedMeanwhileError, Mail, NothingToAskError, ask_for, still_open
from intake.slots import slot_of
from sessions.diary.states import COMING
from sessions.models import FitSession
from sessions.selectors.review.eased import Eased, eased_of, letter_key
from sessions.services.booking.occupancy import locked
from sessions.services.review.decisions import DecisionRefusal
from sessions.services.review.letters import BLANK_LINES
from sessions.services.review.slot_decisions import Letter, SlotSettledError


class NothingOpenError(DecisionRefusal):
    """The questions are answered by now."""

    def __str__(self) -> str:
        """Say so."""
        return _("These questions are answered by now, or no longer asked. Look at the page as it is now.")


class AlreadyAskedError(DecisionRefusal):
    """Somebody else has asked the rider in the meantime."""

    def __init__(self, latest: QuestionRequest) -> None:
        """Keep what they asked."""
        super().__init__(latest)
        self.latest = latest

    def __str__(self) -> str:
        """Say who was faster."""
        if self.latest.asked_by:
            words = _("%(person)s has asked the rider in the meantime. Look at the page as it is now.")
            return words % {"person": self.latest.asked_by.display_name}
        return _("The rider has been asked in the meantime. Look at the page as it is now.")


class NothingEasedError(DecisionRefusal):
    """Nothing that hurt has eased, or the rider has taken it back."""

    def __str__(self) -> str:
        """Say so."""
        return _("The rider no longer says that it has eased. Look at the page as it is now.")


def draft_few(fit_session: FitSession, checks: Iterable[Check]) -> Letter:
    """Return the mail that asks for a few answers."""
    context = {"questions": tuple(checks), "few_address": full_address(newest_link(fit_session.pre_visit), "check:few")}
    with translation.override(settings.LANGUAGE_CODE), timezone.override(fit_session.studio.zone):
        subject = _("A few questions before your session at %(studio)s on %(day)s")
        return Letter(subject % _placed(fit_session), _text("few", fit_session, context))


def draft_offer(fit_session: FitSession, eased: Eased) -> Letter:
    """Return the mail that offers to keep, change or cancel the session."""
    with translation.override(settings.LANGUAGE_CODE), timezone.override(fit_session.studio.zone):
        subject = _("Your session at %(studio)s on %(day)s: is it still what you need?")
        return Letter(subject % _placed(fit_session), _text("eased", fit_session, {"eased": eased}))


def _placed(fit_session: FitSession) -> dict[str, str]:
    day = date_format(timezone.localtime(fit_session.starts_at), "D j M")
    return {"studio": fit_session.studio.name, "day": day}


def _text(name: str, fit_session: FitSession, context: dict[str, object]) -> str:
    shared = {"fit_session": fit_session, "studio": fit_session.studio}
    text = render_to_string(f"sessions/review/letters/{name}.txt", shared | context)
    return BLANK_LINES.sub("\n\n", text).strip() + "\n"


@transaction.atomic
def ask_few(
    *,
    fit_session: FitSession,
    keys: Collection[str],
    seen: int,
    letter: Letter | None = None,
    by: AbstractBaseUser | None,
) -> QuestionRequest:
    """Ask the rider for these checks, by the letter or by the usual one; the same form sent twice asks once.

    Raises SlotSettledError, NothingOpenError, AlreadyAskedError.
    """
    pre_visit, session_slot = fit_session.pre_visit, slot_of(fit_session.pre_visit_id)
    catalogue = current_catalogue()
    asked = [catalogue.check(key) for key in still_open(pre_visit, session_slot, keys) if key in catalogue.titles()]
    mail = letter or draft_few(fit_session, asked)
    try:
        return ask_for(
            pre_visit=pre_visit,
            session_slot=session_slot,
            keys=keys,
            seen=seen,
            mail=Mail(mail.subject, mail.body),
            by=by,
        )
    except CheckClosedError:
        raise SlotSettledError from None
    except NothingToAskError:
        raise NothingOpenError from None
    except AskedMeanwhileError as meanwhile:
        raise AlreadyAskedError(meanwhile.latest) from None


@transaction.atomic
def offer_change(*, fit_session: FitSession, letter: Letter | None = None, by: AbstractBaseUser | None) -> OutgoingMail:
    """Mail the rider that the session can be kept, changed or cancelled; once for what the rider said last.

    Nothing about the session changes by itself. Raises SlotSettledError, NothingEasedError.
    """
    now = locked(fit_session)
    if now.state not in COMING:
        raise SlotSettledError
    pre_visit = now.pre_visit
    given = triage_input(pre_visit, slot_of(pre_visit.pk), current_catalogue())
    eased = eased_of(now, given, after_repairs(pre_visit, given))
    if eased is None:
        raise NothingEasedError
    mail = letter or draft_offer(now, eased)
    return queue_mail(
        key=letter_key(now, eased.places),
        to=now.client.email,
        reply_to=now.studio.email,
        subject=mail.subject,
        body=mail.body,
        client=now.client,
    )
