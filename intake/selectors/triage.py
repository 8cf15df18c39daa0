"""The only crossing from rows to what the triage is given: answers, discomfort, decisions and the bike as plain values."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from intake.catalogue.schema import BIKE_FACTS, BikeKind, Catalogue, Check
from intake.models import CheckAnswer, Discomfort, FindingDecision, PreVisitCheck, RepairReport
from intake.models.previsit import Phase
from intake.selectors.experience import studio_experience
from intake.selectors.repairs import reports_in_force, with_repairs
from intake.slots import SessionSlot
from intake.triage.answers import Answer, BikeFacts, Complaint, Experience, Ruling, TriageInput, WorkingDays
from intake.triage.engine import Triage, triage
from intake.triage.errors import NoWorkingDayError

MONDAY_TO_FRIDAY = WorkingDays(frozenset(range(5)))
T = TypeVar("T")


@dataclass
class Told:
    """What was answered, felt, decided and reported about one check, as rows; of decisions and reports only those in force."""

    answers: dict[str, CheckAnswer] = field(default_factory=dict)
    discomforts: list[Discomfort] = field(default_factory=list)
    rulings: dict[str, Ruling] = field(default_factory=dict)
    repairs: dict[str, RepairReport] = field(default_factory=dict)


def told_of(pre_visit_ids: Collection[int]) -> dict[int, Told]:
    """Return what is known of these checks by id: four queries, however many."""
    told = {pre_visit_id: Told() for pre_visit_id in pre_visit_ids}
    for answer in CheckAnswer.objects.filter(pre_visit_id__in=told):
        told[answer.pre_visit_id].answers[answer.check_key] = answer
    for discomfort in Discomfort.objects.filter(pre_visit_id__in=told, phase=Phase.BEFORE):
        told[discomfort.pre_visit_id].discomforts.append(discomfort)
    decided: dict[int, dict[str, int]] = defaultdict(dict)
    for decision in FindingDecision.objects.filter(pre_visit_id__in=told).order_by("pk"):
        _rule(told[decision.pre_visit_id].rulings, decision)
        decided[decision.pre_visit_id][decision.finding_key] = decision.pk
    reports: dict[int, list[RepairReport]] = defaultdict(list)
    for report in RepairReport.objects.filter(pre_visit_id__in=told).select_related("photo").order_by("pk"):
        reports[report.pre_visit_id].append(report)
    for pk, rows in reports.items():
        told[pk].repairs = reports_in_force(rows, decided[pk], told[pk].answers)
    return told


def _rule(rulings: dict[str, Ruling], decision: FindingDecision) -> None:
    if decision.ruling:
        rulings[decision.finding_key] = Ruling(decision.ruling)
    else:
        rulings.pop(decision.finding_key, None)


def triage_input(pre_visit: PreVisitCheck, session_slot: SessionSlot, catalogue: Catalogue) -> TriageInput:
    """Return what the triage of one check is given."""
    return input_of(pre_visit, told_of([pre_visit.pk])[pre_visit.pk], session_slot, catalogue)


def triage_inputs(
    pre_visits: Iterable[PreVisitCheck], slots: Mapping[int, SessionSlot], catalogue: Catalogue
) -> dict[int, TriageInput]:
    """Return what the triages of many checks are given, by check id, without those that have no session.

    Five queries however many, where the checks come with their bikes (``select_related("bike")``).
    """
    experience = studio_experience(catalogue)
    with_slot = [pre_visit for pre_visit in pre_visits if pre_visit.pk in slots]
    told = told_of([pre_visit.pk for pre_visit in with_slot])
    return {one.pk: input_of(one, told[one.pk], slots[one.pk], catalogue, experience) for one in with_slot}


def input_of(
    pre_visit: PreVisitCheck,
    told: Told,
    session_slot: SessionSlot,
    catalogue: Catalogue,
    experience: Experience | None = None,
) -> TriageInput:
    """Return what the triage is given, from rows that were read already; where no experience is handed in, it is read: one query."""
    return TriageInput(
        catalogue=catalogue,
        bike=bike_facts(pre_visit, told, catalogue),
        answers={
            key: Answer(row.option, row.readable_lengths_mm())
            for key, row in told.answers.items()
            if row.option or row.lengths_mm
        },
        complaints=tuple(Complaint(row.area, row.side, row.score) for row in told.discomforts),
        slot=session_slot.slot,
        rulings=with_repairs(told.rulings, told.repairs, catalogue),
        experience=studio_experience(catalogue) if experience is None else experience,
    )


def fact_of(check: Check) -> str:
    """Return the fact of the bike that a check asks for, or nothing."""
    return check.fact or (check.key if check.key in BIKE_FACTS else "")


def bike_facts(pre_visit: PreVisitCheck, told: Told, catalogue: Catalogue) -> BikeFacts:
    """Return what is known of the bike, without what this very check has taught.

    Those facts are in the answers already, and their questions must stay open to be changed.
    """
    facts = pre_visit.bike.known_facts()
    for check in catalogue.checks:
        answer = told.answers.get(check.key)
        if answer is not None and facts.get(fact_of(check)) == answer.option:
            del facts[fact_of(check)]
    return BikeFacts(kind=BikeKind(pre_visit.bike.kind), facts=facts)


def judge(given: TriageInput) -> Triage:
    """Return the triage; a studio without any opening day yet is taken to work from Monday to Friday."""
    return in_any_week(triage, given)


def in_any_week(reckon: Callable[[TriageInput], T], given: TriageInput) -> T:
    """Return what the core reckons, with a week from Monday to Friday where the studio has no opening day yet."""
    try:
        return reckon(given)
    except NoWorkingDayError:
        return reckon(replace(given, slot=replace(given.slot, working_days=MONDAY_TO_FRIDAY)))
