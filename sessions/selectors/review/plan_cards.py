"""The ways to be ready, as the page shows them: each plan with who does what by when, and where none fits, where to move to."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from intake.catalogue.schema import CostBand
from intake.edge.money import BAND_LABELS, cost_words, range_words
from intake.triage.engine import Triage
from intake.triage.plans import Errand, Plan, Plans, is_agreed
from intake.triage.verdict import Verdict
from sessions.diary.choices import LocalStart, by_day
from sessions.diary.free_starts import FreeStart
from sessions.models import FitSession
from sessions.models.studios import ADJUSTMENT_LABELS
from sessions.selectors.review.finding_cards import WHO_DOES_IT
from sessions.selectors.review.words import day_words, percent_words


@dataclass(frozen=True)
class ErrandShown:
    """One remedy of a plan in words."""

    who: str
    title: str
    part: str
    findings: tuple[str, ...]
    by: str
    ready: str
    cost: str
    gains: tuple[str, ...]
    dangerous: bool


@dataclass(frozen=True)
class PlanShown:
    """A plan to agree on; ``key`` names it, ``agreed`` is whether every ruling of it is in force."""

    key: str
    errands: tuple[ErrandShown, ...]
    cost: str
    verdict: Verdict
    chance: str
    readiness: str
    by: str
    agreed: bool


@dataclass(frozen=True)
class MoveOffer:
    """A free start from the day on which a plan fits, and whether the session keeps its fitter there."""

    start: LocalStart
    same_fitter: bool


@dataclass(frozen=True)
class PlansShown:
    """All of it for one page; ``plans`` are for the slot as it stands, ``later`` for the day ``ready_on``."""

    plans: tuple[PlanShown, ...]
    complete: bool
    too_late: tuple[ErrandShown, ...]
    later: PlanShown | None
    ready_on: date | None
    offers: tuple[MoveOffer, ...]
    left: tuple[str, ...]


def plans_shown(
    plans: Plans, triage: Triage, fit_session: FitSession, starts: Sequence[FreeStart]
) -> PlansShown | None:
    """Return what the page shows, nothing where no plan is needed; ``starts`` are all free starts that the session could move to."""
    if not plans.needed:
        return None
    return PlansShown(
        plans=tuple(_plan(plan, triage) for plan in plans.plans),
        complete=plans.complete,
        too_late=tuple(_errand(each, triage) for each in plans.too_late),
        later=_plan(plans.later, triage) if plans.later else None,
        ready_on=plans.ready_on,
        offers=_offers(plans.ready_on, fit_session, starts),
        left=tuple(reason.text for reason in plans.left),
    )


def _plan(plan: Plan, triage: Triage) -> PlanShown:
    return PlanShown(
        key=plan.key,
        errands=tuple(_errand(each, triage) for each in plan.errands),
        cost=plan_cost_words(plan, triage),
        verdict=plan.verdict,
        chance=percent_words(100 * plan.chance),
        readiness=percent_words(plan.readiness_pct),
        by=day_words(plan.start_by, triage.slot.today),
        agreed=is_agreed(triage, plan.key),
    )


def plan_cost_words(plan: Plan, triage: Triage) -> str:
    """Return what a plan costs the rider: in money where the studio has set amounts, else the bands that it takes."""
    terms = triage.slot.terms
    bands = [each.cost for each in plan.errands if each.cost is not CostBand.FREE]
    if not bands:
        return str(BAND_LABELS[CostBand.FREE])
    if terms.amounts:
        return _("usually %(range)s (an estimate)") % {"range": range_words(bands, terms)}
    return ", ".join(dict.fromkeys(str(BAND_LABELS[band]) for band in sorted(bands, key=list(CostBand).index)))


def _errand(errand: Errand, triage: Triage) -> ErrandShown:
    today, remedy = triage.slot.today, errand.way.remedy
    return ErrandShown(
        who=str(WHO_DOES_IT[errand.who]),
        title=remedy.title,
        part=remedy.part,
        findings=tuple(each.title for each in errand.findings),
        by=day_words(errand.way.fix_by, today),
        ready=day_words(errand.way.first_ready_on, today),
        cost=cost_words(remedy, triage.slot.terms),
        gains=tuple(_gains(errand)),
        dangerous=errand.lifts_hazard,
    )


def _gains(errand: Errand) -> list[str]:
    gains = [_("the bike may be ridden again")] if errand.lifts_hazard else []
    if errand.unlocks:
        gains.append(_("frees %(what)s") % {"what": ", ".join(str(ADJUSTMENT_LABELS[each]) for each in errand.unlocks)})
    if errand.makes_reliable:
        gains.append(_("what is measured is true"))
    if round(errand.minutes_gained) > 0:
        gains.append(_("saves %(minutes)d minutes of the session") % {"minutes": round(errand.minutes_gained)})
    return gains


def _offers(ready_on: date | None, fit_session: FitSession, starts: Sequence[FreeStart]) -> tuple[MoveOffer, ...]:
    """Return the first free start from that day on, and the first with the same fitter where that is another."""
    if ready_on is None:
        return ()
    zone = fit_session.studio.zone
    fitting = [each for each in starts if each.start_utc.astimezone(zone).date() >= ready_on]
    same = [each for each in fitting if fit_session.fitter_id in each.fitter_ids]
    first = list(dict.fromkeys([*fitting[:1], *same[:1]]))
    return tuple(
        MoveOffer(start, fit_session.fitter_id in start.free.fitter_ids)
        for day in by_day(tuple(first), zone)
        for start in day.starts
    )
