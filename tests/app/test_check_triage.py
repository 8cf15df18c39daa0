"""From rows to the triage and back: what it is given, the summary it leaves, and the cost of many."""

from datetime import timedelta

import pytest

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import BikeKind
from intake.models import CheckAnswer, FindingDecision, PreVisitCheck, TriageSummary
from intake.models.previsit import Phase
from intake.selectors.triage import judge, triage_input, triage_inputs
from intake.services.answers import Given, save_answer
from intake.services.discomfort import Felt, save_discomfort
from intake.services.triage import refresh_many, refresh_summary
from intake.slots import slot_of, slots_of
from intake.triage.answers import Answer, BikeFacts, Complaint, Ruling
from sessions.models import OpeningHours
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def pre_visit(fit_session):
    """The check of the booked session."""
    return fit_session.pre_visit


def given(pre_visit):
    """What the triage of a check is given."""
    return triage_input(pre_visit, slot_of(pre_visit.pk), load_catalogue())


def decide(pre_visit, key, ruling):
    """Add a decision."""
    FindingDecision.objects.create(pre_visit=pre_visit, finding_key=key, ruling=ruling)


def test_rows_become_plain_values(pre_visit):
    """Answers, discomfort before the session, rulings, bike and slot arrive as the core's own types."""
    pre_visit.bike.bar_kind = "drop"
    pre_visit.bike.save()
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="post_slides", option="stuck")
    factories.CheckAnswerFactory(
        pre_visit=pre_visit, check_key="spacers", option="measured", lengths_mm={"under_mm": 10, "over_mm": 2.5}
    )
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="gears", option="", note="only a remark")
    factories.DiscomfortFactory(pre_visit=pre_visit, area="knee_front", side="left", score=6)
    factories.DiscomfortFactory(pre_visit=pre_visit, area="knee_front", side="left", score=1, phase=Phase.AFTER)
    decide(pre_visit, "post_slides.stuck", "fix_first")
    values = given(pre_visit)
    assert values.answers == {
        "post_slides": Answer("stuck"),
        "spacers": Answer("measured", {"under_mm": 10.0, "over_mm": 2.5}),
    }
    assert values.complaints == (Complaint("knee_front", "left", 6),)
    assert values.rulings == {"post_slides.stuck": Ruling.FIX_FIRST}
    assert values.bike == BikeFacts(BikeKind.ROAD, {"bar_kind": "drop"})
    assert values.slot == slot_of(pre_visit.pk).slot


def test_the_latest_decision_is_in_force_and_an_empty_one_takes_it_back(pre_visit):
    """Decisions are only ever added; what counts is the last."""
    for ruling in ("fix_first", "accept"):
        decide(pre_visit, "post_slides.stuck", ruling)
    decide(pre_visit, "crash.crack_seen", "not_a_fault")
    decide(pre_visit, "crash.crack_seen", "")
    assert given(pre_visit).rulings == {"post_slides.stuck": Ruling.ACCEPT}


def test_the_rows_of_another_check_stay_out(pre_visit):
    """Every check is judged by its own rows."""
    other = factories.PreVisitCheckFactory()
    factories.CheckAnswerFactory(pre_visit=other, check_key="crash", option="crack")
    decide(other, "crash.crack_seen", "fixed")
    factories.DiscomfortFactory(pre_visit=other)
    values = given(pre_visit)
    assert (values.answers, values.complaints, values.rulings) == ({}, (), {})


def many(studio, count):
    """Checks with sessions on successive days, with some answers."""
    first = factories.weekday_from_now(20, 9)
    sessions = [
        factories.FitSessionFactory(studio=studio, starts_at=first + timedelta(days=day)) for day in range(count)
    ]
    for fit_session in sessions:
        factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="gears", option="fine")
        factories.DiscomfortFactory(pre_visit=fit_session.pre_visit)
        decide(fit_session.pre_visit, "gears.slipping", "accept")
    return [fit_session.pre_visit_id for fit_session in sessions]


@pytest.mark.parametrize("count", [1, 12])
def test_many_checks_are_read_in_a_fixed_number_of_queries(studio, count, django_assert_num_queries):
    """The crossing costs the same for one check as for a list."""
    pre_visits = list(PreVisitCheck.objects.filter(pk__in=many(studio, count)).select_related("bike"))
    slots = slots_of([pre_visit.pk for pre_visit in pre_visits])
    with django_assert_num_queries(5):
        values = triage_inputs(pre_visits, slots, load_catalogue())
    assert len(values) == count
    assert all(value.answers == {"gears": Answer("fine")} for value in values.values())


@pytest.mark.parametrize("count", [1, 12])
def test_many_summaries_are_written_at_once(studio, count, django_assert_num_queries):
    """One lock, slots in four queries, rows in four, what was learned in one, one upsert, and no more for a list."""
    pre_visits = list(PreVisitCheck.objects.filter(pk__in=many(studio, count)).select_related("bike"))
    with django_assert_num_queries(11):
        refresh_many(pre_visits)
    with django_assert_num_queries(11):
        results = refresh_many(pre_visits)
    assert len(results) == TriageSummary.objects.count() == count


def test_checks_without_a_session_are_left_out_of_many(pre_visit):
    """A check that belongs to no session has no slot to be judged against."""
    lonely = factories.PreVisitCheckFactory()
    assert set(refresh_many([pre_visit, lonely])) == {pre_visit.pk}


def test_the_summary_holds_what_the_triage_said(pre_visit):
    """Each figure that lists show is the core's own."""
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="post_slides", option="stuck")
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="cleat_wear", option="past_marker")
    decide(pre_visit, "cleat_wear.past_marker", "accept")
    result = refresh_summary(pre_visit)
    summary = TriageSummary.objects.get()
    assert result == judge(given(pre_visit))
    assert summary.verdict == result.verdict.value == "fix_first"
    assert summary.readiness_pct == pytest.approx(result.forecast.readiness_pct)
    assert summary.chance_to_plan == pytest.approx(result.forecast.chance)
    assert summary.expected_bench_min == pytest.approx(result.forecast.expected_min)
    assert summary.open_findings == sum(finding.ruling is None for finding in result.findings)
    assert summary.open_findings == len(result.findings) - 1
    assert summary.unanswered == len(result.unknowns)
    assert summary.decision_due_on == result.decision_due
    assert summary.reason == result.reasons[0].text
    assert summary.computed_on == result.slot.today
    assert summary.catalogue_version == load_catalogue().version


def test_a_red_flag_is_the_reason_of_a_stopped_session(pre_visit):
    """The desk's list says which one, not what is said of all of them."""
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="red_flags_emergency", option="chest")
    result = refresh_summary(pre_visit)
    summary = TriageSummary.objects.get()
    assert summary.stopped
    assert (
        summary.reason == result.red_flags[0].finding.title == "Chest pain, fainting or unusual breathlessness reported"
    )


def test_every_change_is_judged_at_once(pre_visit):
    """After an answer or a mark the summary is that of the new state."""
    slot, check = slot_of(pre_visit.pk), load_catalogue().check("post_slides")
    save_answer(pre_visit=pre_visit, session_slot=slot, check=check, given=Given("stuck"))
    assert pre_visit.summary.verdict == "fix_first"
    unanswered = pre_visit.summary.unanswered
    save_answer(pre_visit=pre_visit, session_slot=slot, check=check, given=Given("slides"))
    pre_visit.summary.refresh_from_db()
    assert pre_visit.summary.verdict != "fix_first"
    assert pre_visit.summary.unanswered == unanswered
    save_answer(pre_visit=pre_visit, session_slot=slot, check=check, given=Given())
    pre_visit.summary.refresh_from_db()
    assert pre_visit.summary.unanswered == unanswered + 1
    save_discomfort(pre_visit=pre_visit, session_slot=slot, area="neck", side="", felt=Felt(3))
    assert TriageSummary.objects.count() == 1


def test_a_studio_without_hours_or_closed_for_ever_is_still_judged(client, studio, rider_link):
    """Before the owner has entered opening hours the riders' pages work, on a week from Monday to Friday."""
    OpeningHours.objects.all().delete()
    pre_visit = rider_link.pre_visit
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="post_slides", option="stuck")
    result = refresh_summary(pre_visit)
    assert result.finding("post_slides.stuck").best.fix_by.weekday() < 5


def test_lengths_that_are_no_numbers_are_left_out(pre_visit):
    """Whatever an import wrote into the column, the triage reads numbers or nothing."""
    row = factories.CheckAnswerFactory(
        pre_visit=pre_visit,
        check_key="spacers",
        option="measured",
        lengths_mm={"under_mm": True, "over_mm": "3", "x": None, "y": 4, "z": [1]},
    )
    assert row.readable_lengths_mm() == {"y": 4.0}
    CheckAnswer.objects.update(lengths_mm=[1, 2])
    assert given(pre_visit).answers == {"spacers": Answer("measured")}
