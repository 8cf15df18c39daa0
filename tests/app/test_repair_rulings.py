"""What a report on a repair does to the verdict: whose word it is, what came later, and what nobody but staff lifts."""

import pytest

from intake.catalogue.loader import load_catalogue
from intake.models import CheckAnswer, FindingDecision, RepairReport
from intake.selectors.triage import judge, told_of, triage_input
from intake.services.repairs import report_repair
from intake.slots import slot_of
from intake.triage.answers import Ruling
from sessions.services.review.decisions import rule_on_finding
from tests.reviewing import all_answered, answered

pytestmark = pytest.mark.django_db

STUCK, CRACK = "post_slides.stuck", "crash.crack_seen"


@pytest.fixture
def pre_visit(fit_session):
    """A check in order but for a stuck post."""
    all_answered(fit_session, post_slides="stuck")
    return fit_session.pre_visit


def triage_of(pre_visit):
    """What the triage says now."""
    return judge(triage_input(pre_visit, slot_of(pre_visit.pk), load_catalogue()))


def reported(pre_visit, outcome="done", source="rider", key=STUCK, **more):
    """Report as the rider, or a workshop, does."""
    return report_repair(pre_visit=pre_visit, finding_key=key, source=source, outcome=outcome, **more)


@pytest.mark.parametrize("source", ["rider", "workshop"])
def test_what_is_reported_done_counts_as_fixed(pre_visit, source):
    """The verdict moves at once, on the page and in the list."""
    assert triage_of(pre_visit).verdict == "fix_first"
    reported(pre_visit, source=source)
    after = triage_of(pre_visit)
    assert after.finding(STUCK).ruling is Ruling.FIXED
    assert after.verdict == "clear"
    pre_visit.summary.refresh_from_db()
    assert pre_visit.summary.verdict == "clear"


@pytest.mark.parametrize("outcome", ["needs_part", "cannot", "came_back"])
def test_anything_but_done_leaves_it_open(pre_visit, outcome):
    """And what was done before is open again, also what the studio had believed."""
    reported(pre_visit, outcome)
    assert triage_of(pre_visit).verdict == "fix_first"
    reported(pre_visit)
    assert triage_of(pre_visit).verdict == "clear"
    FindingDecision.objects.create(pre_visit=pre_visit, finding_key=STUCK, ruling="fixed")
    reported(pre_visit, outcome)
    assert triage_of(pre_visit).finding(STUCK).ruling is None


@pytest.mark.parametrize(("source", "verdict"), [("rider", "do_not_ride"), ("workshop", "clear")])
def test_a_riders_word_alone_lets_nobody_ride(fit_session, source, verdict):
    """A crack is lifted by a workshop or by the studio; the rider's report waits for it."""
    all_answered(fit_session, crash="crack")
    reported(fit_session.pre_visit, source=source, key=CRACK, done_by="workshop")
    assert triage_of(fit_session.pre_visit).verdict == verdict


@pytest.mark.parametrize("source", ["rider", "workshop"])
def test_a_red_flag_is_for_staff_alone(fit_session, source):
    """Whoever reports it as done, the session stays stopped."""
    catalogue = load_catalogue()
    check, option, fault = next(
        (check, option, key)
        for check in catalogue.checks
        for option in check.options
        for key, sure in option.faults.items()
        if sure == 1 and check.fault(key).hazard in {"see_clinician", "emergency"} and not check.conditions
    )
    all_answered(fit_session, **{check.key: option.key})
    reported(fit_session.pre_visit, source=source, key=f"{check.key}.{fault}")
    assert triage_of(fit_session.pre_visit).stopped


def test_a_later_decision_outweighs_a_report_and_a_later_report_a_decision(pre_visit, fit_session, fitter_user):
    """The newest word counts, by the order in which they were written, not by clocks."""
    for ruling in (Ruling.FIX_FIRST, Ruling.ACCEPT):
        reported(pre_visit)
        assert triage_of(pre_visit).finding(STUCK).ruling is Ruling.FIXED
        rule_on_finding(fit_session=fit_session, key=STUCK, ruling=ruling, by=fitter_user)
        assert triage_of(pre_visit).finding(STUCK).ruling is ruling
    reported(pre_visit)
    assert triage_of(pre_visit).finding(STUCK).ruling is Ruling.FIXED


def test_a_later_answer_is_a_newer_word(pre_visit, fit_session):
    """Who says that the post is stuck again, has said so."""
    reported(pre_visit)
    answered(fit_session, post_slides="slides")
    answered(fit_session, post_slides="stuck")
    CheckAnswer.objects.filter(check_key="post_slides").update(answered_at="2999-01-01T00:00Z")
    assert triage_of(pre_visit).verdict == "fix_first"


def test_a_rider_takes_nothing_from_what_a_workshop_reported(fit_session):
    """The rider says the same later: it is the workshop's word still."""
    all_answered(fit_session, crash="crack")
    reported(fit_session.pre_visit, source="workshop", key=CRACK)
    reported(fit_session.pre_visit, source="rider", key=CRACK)
    assert triage_of(fit_session.pre_visit).verdict == "clear"
    reported(fit_session.pre_visit, "came_back", key=CRACK)
    assert triage_of(fit_session.pre_visit).verdict == "do_not_ride"


def test_the_same_said_twice_is_kept_once(pre_visit, fit_session, fitter_user):
    """A form sent again adds nothing; said again after a decision it is news."""
    first = reported(pre_visit, note="Eased with the right grease")
    assert reported(pre_visit, note="Eased with the right grease") == first
    reported(pre_visit, note="Eased again")
    assert RepairReport.objects.count() == 2
    rule_on_finding(fit_session=fit_session, key=STUCK, ruling=Ruling.FIX_FIRST, by=fitter_user)
    reported(pre_visit, note="Eased again")
    assert RepairReport.objects.count() == 3


def test_reports_on_what_the_catalogue_no_longer_knows_change_nothing(pre_visit):
    """A check that was retired keeps its history."""
    before = triage_of(pre_visit)
    for key in ("retired.fault", "post_slides.retired", "post_slides", "."):
        reported(pre_visit, key=key)
    assert triage_of(pre_visit).reasons == before.reasons
    assert len(told_of([pre_visit.pk])[pre_visit.pk].repairs) == 4
