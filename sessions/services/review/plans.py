"""Agree on a plan: every ruling that it takes, in one go, with what was agreed as its note."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils.translation import gettext as _

from intake.models import FindingDecision
from intake.selectors.catalogue import current_catalogue
from intake.selectors.triage import judge, triage_input
from intake.services.triage import refresh_summary
from intake.slots import slot_of
from intake.triage.engine import Triage
from intake.triage.plans import Errand, find_plans, is_agreed
from sessions.models import FitSession
from sessions.services.review.decisions import DecisionRefusal, check_ruling, open_check


class PlanGoneError(DecisionRefusal):
    """A plan that is not among those of the session as it is now."""

    def __init__(self, key: str) -> None:
        """Keep what was sent."""
        super().__init__(key)
        self.key = key

    def __str__(self) -> str:
        """Say how to go on."""
        return _("That plan does not fit any more. Look at the ways to be ready as they are now.")


@transaction.atomic
def agree_on_plan(*, fit_session: FitSession, key: str, by: AbstractBaseUser | None) -> Triage:
    """Keep every ruling of a plan and judge afresh; what is in force already is not kept again, so that a second tap changes nothing.

    Raises SessionOverError, PlanGoneError, RulingNotOfferedError.
    """
    pre_visit = open_check(fit_session)
    given = triage_input(pre_visit, slot_of(pre_visit.pk), current_catalogue())
    result = judge(given)
    plan = next((each for each in find_plans(given, result).plans if each.key == key), None)
    if plan is None and is_agreed(result, key):
        return result
    if plan is None:
        raise PlanGoneError(key)
    for finding_key, ruling in plan.rulings.items():
        check_ruling(result, finding_key, ruling)
    FindingDecision.objects.bulk_create(
        FindingDecision(
            pre_visit=pre_visit, finding_key=each.key, ruling=errand.ruling.value, note=note_of(errand), decided_by=by
        )
        for errand in plan.errands
        for each in errand.findings
        if each.ruling is not errand.ruling
    )
    return refresh_summary(pre_visit)


def note_of(errand: Errand) -> str:
    """Return what was agreed about one remedy, for the record."""
    return _("Agreed: %(remedy)s") % {"remedy": errand.way.remedy.title}
