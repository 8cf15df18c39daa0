"""The triage page of one session, assembled: every row read once, the triage computed afresh."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property

from django.db.models import QuerySet, prefetch_related_objects

from intake.catalogue.schema import Catalogue, Check
from intake.models import Bike, FindingDecision, PreVisitCheck, QuestionRequest, RedFlagNote, RiderLink
from intake.selectors.catalogue import current_catalogue
from intake.selectors.links import newest_link
from intake.selectors.outcomes import after_repairs
from intake.selectors.red_flags import unread
from intake.selectors.triage import Told, bike_facts, input_of, judge, told_of
from intake.slots import SessionSlot, slot_of
from intake.triage.answers import TriageInput
from intake.triage.engine import Triage
from intake.triage.misfits import Misfit, MisfitKind
from intake.triage.plans import find_plans
from intake.triage.red_flags import ADVICE, RedFlag
from sessions.diary.states import ENDED, SessionState
from sessions.models import FitSession, SlotDecision, StateChange
from sessions.selectors.review.complaints import ComplaintShown, complaints_of
from sessions.selectors.review.deciding import DecidingShown, deciding_shown
from sessions.selectors.review.decision_history import Entry, history_of
from sessions.selectors.review.earlier_answers import EarlierAnswer, earlier_answers, earlier_words
from sessions.selectors.review.eased import Eased, eased_of
from sessions.selectors.review.finding_cards import FindingCard, finding_cards
from sessions.selectors.review.given_answers import Record
from sessions.selectors.review.locked_map import LockedMap, locked_map_of
from sessions.selectors.review.plan_cards import PlansShown, plans_shown
from sessions.selectors.review.repairs import RepairShown, repairs_to_confirm
from sessions.selectors.review.slot_options import SlotOptions, is_open, slot_options
from sessions.selectors.review.unknown_cards import UnknownCard, unknown_cards
from sessions.selectors.review.words import due_words, percent_words
from sessions.selectors.workshop.sheets import SheetShown, sheets_of_check
from sessions.selectors.workshop.waiting import Hindrance, hindrances

ASK_FIRST = 5
BIKE_FACTS_SHOWN = (
    *("kind", "frame_size", "post_kind", "cockpit", "bar_kind", "pedal_kind", "routing", "indoors", "saddle"),
    *("spacers_under_mm", "spacers_over_mm", "stem_length_mm", "crank_length_mm", "axle_standard", "notes"),
)


@dataclass(frozen=True)
class ReviewPage:
    """What the page of one session shows."""

    fit_session: FitSession
    session_slot: SessionSlot
    given: TriageInput
    triage: Triage
    record: Record
    flag_cards: tuple[FindingCard, ...]
    flags_unread: tuple[RedFlag, ...]
    flag_notes: tuple[RedFlagNote, ...]
    findings: tuple[FindingCard, ...]
    unknowns: tuple[UnknownCard, ...]
    complaints: tuple[ComplaintShown, ...]
    deciding: DecidingShown
    eased: Eased | None
    slot_decisions: tuple[SlotDecision, ...]
    options: SlotOptions | None
    plans: PlansShown | None
    history: tuple[Entry, ...]
    link: RiderLink | None
    job_sheets: tuple[SheetShown, ...]
    workshop_waits: tuple[Hindrance, ...]
    repairs: tuple[RepairShown, ...]

    @property
    def earlier(self) -> tuple[EarlierAnswer, ...]:
        """Return the answers to checks that are not asked any more."""
        return earlier_answers(self.record.answers, self.given.catalogue, self.record.earlier)

    @property
    def misfits(self) -> tuple[Misfit, ...]:
        """Return the answers that do not count as they stand; those to questions of earlier versions have a list of their own."""
        return tuple(each for each in self.triage.misfits if each.kind is not MisfitKind.RETIRED)

    @property
    def today(self) -> date:
        """Return today where the studio is."""
        return self.triage.slot.today

    def triage_on(self, start: datetime) -> Triage:
        """Return the triage of the same answers for a session that starts then."""
        starts_on = start.astimezone(self.fit_session.studio.zone).date()
        return judge(replace(self.given, slot=replace(self.given.slot, starts_on=starts_on)))

    def triage_check(self, key: str) -> Check:
        """Return an asked check by its key."""
        return next(check for check in self.triage.asked if check.key == key)

    @property
    def is_over(self) -> bool:
        """Return whether decisions stay as they are."""
        return SessionState(self.fit_session.state) in ENDED

    @property
    def readiness(self) -> str:
        """Return the readiness in whole percent."""
        return percent_words(self.triage.forecast.readiness_pct)

    @property
    def chance(self) -> str:
        """Return the chance to run to plan in whole percent."""
        return percent_words(100 * self.triage.forecast.chance)

    @property
    def expected_min(self) -> int:
        """Return the bench minutes to expect on average."""
        return round(self.triage.forecast.expected_min)

    @property
    def half_min(self) -> int:
        """Return the bench minutes that are enough in every second such session."""
        return self.triage.forecast.quantile_min(0.5)

    @property
    def most_min(self) -> int:
        """Return the bench minutes that are enough in nine of ten such sessions."""
        return self.triage.forecast.quantile_min(0.9)

    @property
    def due(self) -> str:
        """Return by when a decision is due, empty where none is."""
        return due_words(self.triage.decision_due, self.today) if self.triage.decision_due else ""

    @property
    def is_due_today(self) -> bool:
        """Return whether somebody must decide today."""
        return self.triage.decision_due is not None and self.triage.decision_due <= self.today

    @property
    def last_decision(self) -> SlotDecision | None:
        """Return what was last decided about the slot."""
        return next(reversed(self.slot_decisions), None)

    @cached_property
    def locked_map(self) -> LockedMap:
        """Return which adjustments the bike can still make."""
        return locked_map_of(self.triage, self.fit_session.bike)

    @property
    def bike_facts(self) -> tuple[tuple[str, str], ...]:
        """Return what is known of the bike, each fact with its name."""
        return known_facts(self.fit_session.bike)

    @property
    def ask_first(self) -> tuple[UnknownCard, ...]:
        """Return the checks without an answer that are most worth asking."""
        return self.unknowns[:ASK_FIRST]

    @property
    def ask_later(self) -> tuple[UnknownCard, ...]:
        """Return the other checks without an answer."""
        return self.unknowns[ASK_FIRST:]


def reviewed_sessions() -> QuerySet[FitSession]:
    """Return sessions with all of their own that the page shows."""
    return FitSession.objects.select_related(
        "studio", "service", "client", "bike", "fitter", "bay", "pre_visit__client", "pre_visit__bike"
    )


def review_page(fit_session: FitSession) -> ReviewPage:
    """Read one session from `reviewed_sessions` and judge it: twenty-three queries while its slot is open."""
    pre_visit, catalogue = fit_session.pre_visit, current_catalogue()
    session_slot, told = slot_of(pre_visit.pk), told_of([pre_visit.pk])[pre_visit.pk]
    given = input_of(pre_visit, told, session_slot, catalogue)
    triage = judge(given)
    rulings = list(pre_visit.decisions.select_related("decided_by").order_by("-pk"))
    notes = tuple(pre_visit.red_flag_notes.select_related("noted_by").order_by("-pk"))
    slot_decisions = tuple(fit_session.slot_decisions.select_related("decided_by", "mail").order_by("pk"))
    changes = StateChange.objects.filter(fit_session=fit_session).select_related("changed_by")
    record = _record(pre_visit, told, rulings, catalogue)
    latest = next(reversed(slot_decisions), None)
    options = slot_options(fit_session, triage, latest) if is_open(fit_session) else None
    return ReviewPage(
        fit_session=fit_session,
        session_slot=session_slot,
        given=given,
        triage=triage,
        record=record,
        flag_cards=finding_cards(triage, [each for each in triage.findings if each.hazard in ADVICE], record),
        flags_unread=_unread(triage, told, notes),
        flag_notes=notes,
        findings=finding_cards(triage, [each for each in triage.findings if each.hazard not in ADVICE], record),
        unknowns=unknown_cards(triage, record),
        complaints=complaints_of(triage, told, catalogue),
        deciding=deciding_shown(triage, _requests(pre_visit)),
        eased=eased_of(fit_session, given, after_repairs(pre_visit, given)),
        slot_decisions=slot_decisions,
        options=options,
        plans=plans_shown(find_plans(given, triage), triage, fit_session, options.free_starts) if options else None,
        history=history_of(changes, slot_decisions, rulings, notes, catalogue.titles()),
        link=newest_link(pre_visit),
        job_sheets=sheets_of_check(pre_visit, session_slot),
        workshop_waits=hindrances(told, catalogue),
        repairs=repairs_to_confirm(triage, told, catalogue),
    )


def _requests(pre_visit: PreVisitCheck) -> list[QuestionRequest]:
    return list(pre_visit.question_requests.select_related("asked_by").order_by("-pk"))


def _record(pre_visit: PreVisitCheck, told: Told, rulings: Iterable[FindingDecision], catalogue: Catalogue) -> Record:
    prefetch_related_objects(list(told.answers.values()), "answered_by")
    decisions: dict[str, list[FindingDecision]] = defaultdict(list)
    for ruling in rulings:
        decisions[ruling.finding_key].append(ruling)
    return Record(
        catalogue=catalogue,
        bike=bike_facts(pre_visit, told, catalogue),
        answers=told.answers,
        decisions={key: tuple(rows) for key, rows in decisions.items()},
        unit=pre_visit.client.length_unit,
        earlier=earlier_words(told.answers.values(), catalogue),
    )


def _unread(triage: Triage, told: Told, notes: tuple[RedFlagNote, ...]) -> tuple[RedFlag, ...]:
    raised = {key: row.answered_at for key, row in told.answers.items()}
    return unread(triage.red_flags, raised, notes[0].noted_at if notes else None)


def known_facts(bike: Bike) -> tuple[tuple[str, str], ...]:
    """Return what is known of a bike: names of facts, and their values in words."""
    fields = [bike._meta.get_field(name) for name in BIKE_FACTS_SHOWN]  # noqa: SLF001 - documented in Django's model API
    return tuple(
        (str(field.verbose_name), _fact(bike, field.name))
        for field in fields
        if getattr(bike, field.name) not in ("", None)
    )


def _fact(bike: Bike, name: str) -> str:
    value = getattr(bike, name)
    if isinstance(value, float):
        return f"{value:g}"
    shown = getattr(bike, f"get_{name}_display", None)
    return str(shown()) if shown else str(value)
