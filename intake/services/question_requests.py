"""Ask a rider for the answers to a few checks, by mail and on a page of their own."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction

from intake.models import PreVisitCheck, QuestionRequest
from intake.selectors.previsit import check_list
from intake.services.answers import check_changeable
from intake.services.mail import queue_mail
from intake.services.triage import lock_check
from intake.slots import SessionSlot

MOST_QUESTIONS = 10


@dataclass(frozen=True)
class Mail:
    """What the rider reads: a subject and plain text."""

    subject: str
    body: str


class NothingToAskError(Exception):
    """Every one of the questions is answered by now, or not asked of this bike any more."""


class AskedMeanwhileError(Exception):
    """Somebody else has asked the rider since the page was loaded."""

    def __init__(self, latest: QuestionRequest) -> None:
        """Keep what they asked."""
        super().__init__(latest)
        self.latest = latest


def still_open(pre_visit: PreVisitCheck, session_slot: SessionSlot, keys: Iterable[str]) -> list[str]:
    """Return those of these checks that are asked of the bike and not answered, in their order."""
    open_keys = {step.key for step in check_list(pre_visit, session_slot).open_steps}
    return [key for key in dict.fromkeys(keys) if key in open_keys][:MOST_QUESTIONS]


@transaction.atomic
def ask_for(
    *,
    pre_visit: PreVisitCheck,
    session_slot: SessionSlot,
    keys: Iterable[str],
    seen: int,
    mail: Mail,
    by: AbstractBaseUser | None,
) -> QuestionRequest:
    """Keep that the rider is asked for these checks, and mail it; ``seen`` is the latest request that the page knew, 0 for none.

    The same form sent twice asks once. Raises CheckClosedError once the session has begun, NothingToAskError, AskedMeanwhileError.
    """
    check_changeable(session_slot)
    lock_check(pre_visit)
    wanted, latest = list(keys), QuestionRequest.objects.filter(pre_visit=pre_visit).order_by("-pk").first()
    if latest is not None and latest.pk != seen:
        if set(latest.keys) <= set(wanted):
            return latest
        raise AskedMeanwhileError(latest)
    asked = still_open(pre_visit, session_slot, wanted)
    if not asked:
        raise NothingToAskError
    request = QuestionRequest.objects.create(pre_visit=pre_visit, check_keys=asked, asked_by=by)
    request.mail = queue_mail(
        key=f"few:{pre_visit.pk}:{request.pk}",
        to=pre_visit.client.email,
        reply_to=session_slot.studio_email,
        subject=mail.subject,
        body=mail.body,
        client=pre_visit.client,
    )
    request.save(update_fields=["mail"])
    return request
