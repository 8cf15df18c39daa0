"""Keep what a fitter decides about findings, red flags and the booking itself, with who and when; judge afresh after each."""

from collections.abc import Collection

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils.translation import gettext as _

from intake.models import FindingDecision, PreVisitCheck, RedFlagNote, RepairReport
from intake.models.decisions import RULING_LABELS
from intake.selectors.catalogue import current_catalogue
from intake.selectors.red_flags import open_flags
from intake.selectors.triage import judge, triage_input
from intake.services.triage import refresh_summary
from intake.slots import slot_of
from intake.triage.answers import Ruling
from intake.triage.engine import Triage
from sessions.diary.states import ENDED, SessionState
from sessions.models import FitSession
from sessions.selectors.review.rulings import offered
from sessions.services.booking.history import change_state
from sessions.services.booking.occupancy import locked


class DecisionRefusal(Exception):  # noqa: N818 - a refusal is what the desk calls it
    """Base of what cannot be decided; ``str()`` is a sentence for whoever tried."""


class SessionOverError(DecisionRefusal):
    """The session has ended: what was decided stays as it is."""

    def __str__(self) -> str:
        """Say so."""
        return _("This session is over. What was decided stays as it is.")


class FindingGoneError(DecisionRefusal):
    """The rider's answers no longer show this finding, or never did."""

    def __init__(self, key: str) -> None:
        """Keep the key that was sent."""
        super().__init__(key)
        self.key = key

    def __str__(self) -> str:
        """Say how to go on."""
        return _("That is not among the findings any more. Look at the page as it is now.")


class RulingNotOfferedError(DecisionRefusal):
    """A decision that this finding does not leave to a fitter."""

    def __init__(self, key: str, ruling: Ruling) -> None:
        """Keep what was tried."""
        super().__init__(key, ruling)
        self.key, self.ruling = key, ruling

    def __str__(self) -> str:
        """Name the decision."""
        return _("“%(decision)s” cannot be decided here.") % {"decision": RULING_LABELS[self.ruling]}


class FlagRaisedMeanwhileError(DecisionRefusal):
    """A red flag that the page did not show yet when the note was written."""

    def __init__(self, titles: tuple[str, ...]) -> None:
        """Keep what has come since."""
        super().__init__(titles)
        self.titles = titles

    def __str__(self) -> str:
        """Name it, so that it is read before the note is sent again."""
        return _(
            "The rider has reported more since this page was loaded: %(flags)s. Read it, then send your note again."
        ) % {"flags": "; ".join(self.titles)}


class NothingToAcknowledgeError(DecisionRefusal):
    """No red flag stands any more."""

    def __str__(self) -> str:
        """Say so."""
        return _("There is no red flag any more.")


def check_ruling(triage: Triage, key: str, ruling: Ruling | None) -> None:
    """Refuse a decision on something that is no finding, or that a finding does not leave to a fitter.

    Taking a decision back (None) is always possible. Raises FindingGoneError, RulingNotOfferedError.
    """
    try:
        rulings = offered(triage, key)
    except KeyError:
        raise FindingGoneError(key) from None
    if ruling is not None and ruling not in rulings:
        raise RulingNotOfferedError(key, ruling)


def can_rule(triage: Triage, key: str, ruling: Ruling | None) -> bool:
    """Return whether `check_ruling` lets a decision pass."""
    try:
        check_ruling(triage, key, ruling)
    except DecisionRefusal:
        return False
    return True


@transaction.atomic
def rule_on_finding(
    *, fit_session: FitSession, key: str, ruling: Ruling | None, note: str = "", by: AbstractBaseUser | None
) -> Triage:
    """Keep a decision on a finding, or on a check without an answer, and judge afresh; None takes the last one back.

    What is in force already is not kept twice, unless somebody has reported on a repair since: a second tap changes nothing.
    Raises SessionOverError, FindingGoneError, RulingNotOfferedError.
    """
    pre_visit = open_check(fit_session)
    result = _as_it_stands(pre_visit)
    check_ruling(result, key, ruling)
    rows = FindingDecision.objects.filter(pre_visit=pre_visit, finding_key=key)
    latest = rows.order_by("-pk").first()
    reports = RepairReport.objects.filter(pre_visit=pre_visit, finding_key=key, since_decision=latest)
    if not _is_news(latest, ruling, note) and not reports.exists():
        return result
    FindingDecision.objects.create(
        pre_visit=pre_visit, finding_key=key, ruling=ruling.value if ruling else "", note=note, decided_by=by
    )
    return refresh_summary(pre_visit)


def _is_news(latest: FindingDecision | None, ruling: Ruling | None, note: str) -> bool:
    in_force = latest.ruling if latest else ""
    if in_force != (ruling.value if ruling else ""):
        return True
    return bool(latest and note and note != latest.note)


@transaction.atomic
def acknowledge_red_flags(
    *, fit_session: FitSession, note: str, seen: Collection[str], by: AbstractBaseUser | None
) -> RedFlagNote:
    """Keep that somebody has read the red flags, and what was agreed with the rider; ``seen`` are the keys of those on the page.

    The same note sent twice is kept once. Raises SessionOverError, NothingToAcknowledgeError, FlagRaisedMeanwhileError.
    """
    pre_visit = open_check(fit_session)
    result = _as_it_stands(pre_visit)
    if not result.red_flags:
        raise NothingToAcknowledgeError
    if new := tuple(flag.finding.title for flag in result.red_flags if flag.finding.key not in seen):
        raise FlagRaisedMeanwhileError(new)
    latest = RedFlagNote.objects.filter(pre_visit=pre_visit).order_by("-pk").first()
    if latest and latest.note == note and not open_flags(pre_visit, result):
        return latest
    return RedFlagNote.objects.create(pre_visit=pre_visit, note=note, noted_by=by)


@transaction.atomic
def confirm_session(*, fit_session: FitSession, by: AbstractBaseUser | None) -> FitSession:
    """Confirm a booked or moved session once every red flag is acknowledged; one that is confirmed already stays so.

    Raises RedFlagsUnreadError, MoveNotAllowedError.
    """
    now = locked(fit_session)
    if now.state != SessionState.CONFIRMED:
        change_state(fit_session=now, to=SessionState.CONFIRMED, by=by)
    fit_session.state = now.state
    return fit_session


def open_check(fit_session: FitSession) -> PreVisitCheck:
    """Return the check of a session that has not ended, kept from other writers for the rest of the transaction."""
    if SessionState(fit_session.state) in ENDED:
        raise SessionOverError
    return PreVisitCheck.objects.select_related("bike").select_for_update(of=("self",)).get(pk=fit_session.pre_visit_id)


def _as_it_stands(pre_visit: PreVisitCheck) -> Triage:
    return judge(triage_input(pre_visit, slot_of(pre_visit.pk), current_catalogue()))
