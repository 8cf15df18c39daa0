"""Forecasts of the day held against what happened, and the minutes that faults took of late."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from django.db.models import QuerySet

from intake.experience.calibration import Coverage, coverage, pit_histogram, skill
from intake.experience.observing import Hindsight
from intake.experience.scores import BrierParts, brier
from intake.models import ForecastOutcome, MonthlyLoss
from intake.selectors.catalogue import every_title

FEW, SOME = 30, 100  # sessions: too few to say, enough for coarse faults only
MONTHS = 3
TOP = 10


@dataclass(frozen=True)
class Calibration:
    """What the outcomes of forecasts say together."""

    outcomes: tuple[ForecastOutcome, ...]

    @property
    def sessions(self) -> int:
        """Return how many forecasts were held against what happened."""
        return len(self.outcomes)

    @property
    def is_little(self) -> bool:
        """Return whether they are too few to say anything."""
        return self.sessions < FEW

    @property
    def is_some(self) -> bool:
        """Return whether only coarse faults would show."""
        return FEW <= self.sessions < SOME

    @cached_property
    def pit(self) -> tuple[float, ...]:
        """Return the share of outcomes in each tenth of their forecasts."""
        lows, highs = [each.pit_low for each in self.outcomes], [each.pit_high for each in self.outcomes]
        return tuple(float(share) for share in pit_histogram(lows, highs))

    @property
    def tenths(self) -> list[tuple[int, int, float]]:
        """Return the histogram as rows: from, to and share, in percent."""
        return [(10 * number, 10 * number + 10, 100 * share) for number, share in enumerate(self.pit)]

    @cached_property
    def coverage(self) -> Coverage:
        """Return how many lay in their 90 % bands."""
        return coverage([each.within90 for each in self.outcomes], [each.band_chance for each in self.outcomes])

    @property
    def coverage_pct(self) -> dict[str, float]:
        """Return the same in percent."""
        found = self.coverage
        return {name: 100 * getattr(found, name) for name in ("share", "low", "high", "promised")}

    @property
    def score_min(self) -> float:
        """Return the mean score of the forecasts [min]."""
        return sum(each.crps for each in self.outcomes) / self.sessions

    @property
    def prior_score_min(self) -> float:
        """Return the mean score that the catalogue's own estimates would have had [min]."""
        return sum(each.crps_prior for each in self.outcomes) / self.sessions

    @property
    def skill_pct(self) -> float | None:
        """Return by how much the forecasts beat the catalogue's own, in percent."""
        found = skill([each.crps for each in self.outcomes], [each.crps_prior for each in self.outcomes])
        return None if found is None else 100 * found

    @property
    def brier(self) -> BrierParts:
        """Return the score of the chance to run to plan, in tenths, and its parts."""
        chances = [round(each.chance, 1) for each in self.outcomes]
        return brier(chances, [each.lost_min <= each.slack_min for each in self.outcomes])

    @property
    def to_plan(self) -> int:
        """Return how many sessions ran to plan."""
        return sum(each.lost_min <= each.slack_min for each in self.outcomes)


def calibration() -> Calibration:
    """Return all outcomes: one query."""
    return Calibration(tuple(ForecastOutcome.objects.all()))


@dataclass
class CostlyFault:
    """Minutes that one fault took, by what was known of it before the slot."""

    title: str
    times: int = 0
    minutes: dict[str, int] = field(default_factory=lambda: dict.fromkeys((each.value for each in Hindsight), 0))

    @property
    def total(self) -> int:
        """Return all its minutes."""
        return sum(self.minutes.values())

    @property
    def cells(self) -> list[int]:
        """Return the minutes in the order of the columns."""
        return list(self.minutes.values())


@dataclass(frozen=True)
class Costs:
    """The faults that cost most since a month began, and the sums over all faults."""

    since: date
    rows: tuple[CostlyFault, ...]
    total: CostlyFault

    @property
    def saved_pct(self) -> float:
        """Return the share of all minutes that had been shown in time."""
        shown = self.total.minutes[Hindsight.TOLD_IN_TIME.value]
        return 100 * shown / self.total.total if self.total.total else 0.0


def costs(today: date) -> Costs:
    """Return the ten faults that cost most minutes in this month and the two before it: two queries."""
    since = first_month(today)
    titles, by_key, total = every_title(), defaultdict(list), CostlyFault("")
    losses: QuerySet[MonthlyLoss] = MonthlyLoss.objects.filter(month__gte=since)
    for loss in losses:
        by_key[loss.finding_key].append(loss)
    faults = [_cost(titles.get(key, key), rows, total) for key, rows in by_key.items()]
    costly = sorted((each for each in faults if each.total), key=lambda each: (-each.total, each.title))
    return Costs(since, tuple(costly[:TOP]), total)


def first_month(today: date) -> date:
    """Return the first day of the month two months before this one.

    >>> first_month(date(2027, 1, 31))
    datetime.date(2026, 11, 1)
    """
    month = today.year * 12 + today.month - MONTHS
    return date(month // 12, month % 12 + 1, 1)


def _cost(title: str, rows: list[MonthlyLoss], total: CostlyFault) -> CostlyFault:
    cost = CostlyFault(title)
    for row in rows:
        for sums in (cost, total):
            sums.times += row.times
            for hindsight in Hindsight:
                sums.minutes[hindsight.value] += getattr(row, f"{hindsight.value}_min")
    return cost
