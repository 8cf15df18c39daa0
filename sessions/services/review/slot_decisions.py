"""Keep what is decided about the slot: keep it, make it longer, move it, or ask the rider; and mail the rider what the fitter wrote."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from intake.models import OutgoingMail
from intake.services.mail import queue_mail
from sessions.diary.states import COMING
from sessions.models import FitSession, SlotChoice, SlotDecision
from sessions.selectors.booking.places import check_window
from sessions.selectors.review.slot_options import basis_of
from sessions.services.booking.moves import extend_session, move_session
from sessions.services.booking.occupancy import locked
from sessions.services.review.decisions import DecisionRefusal


class SlotSettledError(DecisionRefusal):
    """A session that is under way or has ended."""

    def __str__(self) -> str:
        """Say so."""
        return _("The slot can no longer be changed: the session is under way or over.")


class DecidedMeanwhileError(DecisionRefusal):
    """The slot is not what it was when the page was loaded."""

    def __init__(self, basis: str, latest: SlotDecision | None) -> None:
        """Keep what was decided since, where it was a decision that changed the slot."""
        super().__init__(basis, latest)
        self.latest = latest if latest and not basis.endswith(f".{latest.pk}") else None

    def __str__(self) -> str:
        """Say who was faster."""
        if self.latest and self.latest.decided_by:
            return _("%(person)s has decided about this slot in the meantime. Look at the page as it is now.") % {
                "person": self.latest.decided_by.display_name
            }
        return _("This slot has changed in the meantime. Look at the page as it is now.")


@dataclass(frozen=True)
class Letter:
    """A mail to the rider as the fitter has edited it."""

    subject: str
    body: str


@transaction.atomic
def keep_slot(
    *, fit_session: FitSession, basis: str, letter: Letter | None = None, by: AbstractBaseUser | None
) -> SlotDecision:
    """Keep that the slot stays as it is, and mail the letter; see `_note`."""
    return _note(fit_session, SlotChoice.KEEP, basis, letter, by)


@transaction.atomic
def ask_rider(
    *, fit_session: FitSession, basis: str, letter: Letter | None = None, by: AbstractBaseUser | None
) -> SlotDecision:
    """Keep that the rider is asked, and mail the questions; see `_note`."""
    return _note(fit_session, SlotChoice.ASK_RIDER, basis, letter, by)


def _note(
    fit_session: FitSession, choice: SlotChoice, basis: str, letter: Letter | None, by: AbstractBaseUser | None
) -> SlotDecision:
    """Keep a decision that changes nothing about the slot.

    One that is in force is not kept again, and a letter that was sent is not sent again; another letter is another decision.
    Raises SlotSettledError, DecidedMeanwhileError.
    """
    now = _coming(fit_session)
    latest = _latest(now)
    if latest and latest.choice == choice and _is_covered(latest, letter):
        return _send(latest, letter)
    if basis != basis_of(now, latest):
        raise DecidedMeanwhileError(basis, latest)
    return _send(SlotDecision.objects.create(fit_session=now, choice=choice, decided_by=by), letter)


def _is_covered(decision: SlotDecision, letter: Letter | None) -> bool:
    return letter is None or decision.mail is None or _says(decision.mail, letter)


def _says(mail: OutgoingMail, letter: Letter) -> bool:
    return (mail.subject, mail.body) == (letter.subject, letter.body)


def _send(decision: SlotDecision, letter: Letter | None) -> SlotDecision:
    if letter is not None and decision.mail is None:
        client = decision.fit_session.client
        decision.mail = queue_mail(
            key=f"slot:{decision.pk}",
            to=client.email,
            reply_to=decision.fit_session.studio.email,
            subject=letter.subject,
            body=letter.body,
            client=client,
        )
        decision.save(update_fields=["mail"])
    return decision


@transaction.atomic
def extend_slot(
    *, fit_session: FitSession, basis: str, extra_min: int, message: str = "", by: AbstractBaseUser | None
) -> SlotDecision:
    """Make the session longer by so many minutes and keep who decided it; the rider is mailed the new end, below the message.

    The same form sent twice extends once. Raises SlotSettledError, DecidedMeanwhileError, ExtensionError.
    """
    now = _coming(fit_session)
    latest = _latest(now)
    if basis != basis_of(now, latest):
        if latest and _is_replay(latest, basis, SlotChoice.EXTEND, by) and latest.extra_min == extra_min:
            return latest
        raise DecidedMeanwhileError(basis, latest)
    extend_session(fit_session=now, extra_min=extra_min, by=by, message=message)
    return SlotDecision.objects.create(
        fit_session=now,
        choice=SlotChoice.EXTEND,
        extra_min=extra_min,
        mail=_mail_about(now, "longer"),
        decided_by=by,
    )


@transaction.atomic
def move_slot(
    *, fit_session: FitSession, basis: str, start: datetime, message: str = "", by: AbstractBaseUser | None
) -> SlotDecision:
    """Move the session to another start and keep who decided it; the rider is mailed the new time, below the message.

    The same form sent twice moves once. Raises SlotSettledError, DecidedMeanwhileError, MoveNotAllowedError,
    StartNotOfferedError, StartTakenError.
    """
    now = _coming(fit_session)
    latest = _latest(now)
    if basis != basis_of(now, latest):
        if latest and _is_replay(latest, basis, SlotChoice.MOVE, by) and now.starts_at == start:
            return latest
        raise DecidedMeanwhileError(basis, latest)
    check_window(now.studio, start, with_notice=False)
    note = _from_to(now.starts_at, start, now)
    move_session(fit_session=now, new_start=start, by=by, note=note, message=message)
    return SlotDecision.objects.create(
        fit_session=now, choice=SlotChoice.MOVE, note=note, mail=_mail_about(now, "moved"), decided_by=by
    )


def _coming(fit_session: FitSession) -> FitSession:
    now = locked(fit_session)
    if now.state not in COMING:
        raise SlotSettledError
    return now


def _latest(fit_session: FitSession) -> SlotDecision | None:
    return fit_session.slot_decisions.select_related("decided_by", "mail").order_by("-pk").first()


def _is_replay(latest: SlotDecision, basis: str, choice: SlotChoice, by: AbstractBaseUser | None) -> bool:
    """Return whether the latest decision is what this very form led to: the same choice by the same person, right after its basis."""
    seen = latest.fit_session.slot_decisions.exclude(pk=latest.pk).order_by("-pk").values_list("pk", flat=True).first()
    return latest.choice == choice and latest.decided_by == by and basis.endswith(f".{seen or 0}")


def _mail_about(fit_session: FitSession, occasion: str) -> OutgoingMail | None:
    return OutgoingMail.objects.filter(key=f"{occasion}:{fit_session.uid}:{fit_session.sequence}").first()


def _from_to(before: datetime, after: datetime, fit_session: FitSession) -> str:
    zone = fit_session.studio.zone
    days = [date_format(each.astimezone(zone), "D j M Y H:i") for each in (before, after)]
    return _("from %(before)s to %(after)s") % {"before": days[0], "after": days[1]}
