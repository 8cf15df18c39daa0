"""The owner's figures as tables of plain values."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from intake.triage.verdict import Verdict
from sessions.figures.shares import Share
from sessions.figures.values import ForecastShape, HeldSession, Moment, PutRightBy

NOT_KEPT = ""


@dataclass(frozen=True, slots=True)
class VerdictTable:
    """Sessions by verdict at each moment.

    ``counts`` holds a count for every moment and every verdict, and under ``NOT_KEPT`` the sessions of which that moment was not
    kept; ``moves`` counts sessions by (moment, verdict then, verdict at the next moment).
    """

    total: int
    counts: Mapping[Moment, Mapping[str, int]]
    moves: Mapping[tuple[Moment, str, str], int]


def verdict_table(sessions: Iterable[HeldSession]) -> VerdictTable:
    """Count the sessions by verdict at each moment, and how they moved from one moment to the next."""
    sessions = list(sessions)
    keys = [*(verdict.value for verdict in Verdict), NOT_KEPT]
    counts = {}
    for moment in Moment:
        found = Counter(each.verdicts.get(moment, NOT_KEPT) for each in sessions)
        counts[moment] = {key: found[key] for key in keys}
    moves = Counter(
        (first, each.verdicts.get(first, NOT_KEPT), each.verdicts.get(second, NOT_KEPT))
        for first, second in pairwise(Moment)
        for each in sessions
    )
    return VerdictTable(len(sessions), counts, moves)


def lighter_verdicts(sessions: Iterable[HeldSession]) -> Share:
    """Return how many sessions had a lighter verdict on the day than at booking, of those of which both were kept."""
    both = [
        (each.verdicts[Moment.BOOKING], each.verdicts[Moment.DAY])
        for each in sessions
        if Moment.BOOKING in each.verdicts and Moment.DAY in each.verdicts
    ]
    return Share(sum(Verdict(day).weight < Verdict(booking).weight for booking, day in both), len(both))


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Forecasts on the day beside the minutes that were noted [min], over the sessions that have both.

    ``mean_forecast_min`` above ``mean_actual_min`` means that the forecasts were too gloomy. ``typical_miss_min`` is the mean
    distance of the two, whichever way. All three are None of nothing. ``within`` counts the sessions whose minutes lay in their
    90 % band.
    """

    mean_forecast_min: float | None
    mean_actual_min: float | None
    typical_miss_min: float | None
    within: Share


Compared = tuple[HeldSession, ForecastShape, int]


def compared(sessions: Iterable[HeldSession]) -> list[Compared]:
    """Return the sessions that have both a forecast of the day and noted minutes, with both, in the order in which they come."""
    return [
        (each, each.forecast, each.actual_min)
        for each in sessions
        if each.forecast is not None and each.actual_min is not None
    ]


def accuracy(sessions: Iterable[HeldSession]) -> Accuracy:
    """Compare the forecasts of the day with the minutes that were noted."""
    pairs = [(shape, actual) for _, shape, actual in compared(sessions)]
    return Accuracy(
        mean_forecast_min=_mean([shape.mean_min for shape, _ in pairs]),
        mean_actual_min=_mean([actual for _, actual in pairs]),
        typical_miss_min=_mean([abs(shape.mean_min - actual) for shape, actual in pairs]),
        within=Share(sum(shape.holds(actual) for shape, actual in pairs), len(pairs)),
    )


def _mean(values: Sequence[float]) -> float | None:
    return math.fsum(values) / len(values) if values else None


@dataclass(frozen=True, slots=True)
class MonthKept:
    """Planned hands-on minutes of one month's closed sessions, and how many of them were kept [min]."""

    month: date
    sessions: int
    planned_min: int
    kept_min: int

    @property
    def share(self) -> float:
        """The share that was kept, 0 to 1; every minute weighs the same, so a long session weighs more than a short one."""
        return self.kept_min / self.planned_min


def months_kept(sessions: Iterable[HeldSession]) -> tuple[MonthKept, ...]:
    """Return the months in which sessions were closed, the oldest first."""
    by_month: dict[date, list[tuple[int, int]]] = {}
    for each in sessions:
        if each.kept_min is not None:
            by_month.setdefault(each.month, []).append((each.planned_min, each.kept_min))
    return tuple(_month(month, by_month[month]) for month in sorted(by_month))


def _month(month: date, pairs: Sequence[tuple[int, int]]) -> MonthKept:
    return MonthKept(month, len(pairs), sum(planned for planned, _ in pairs), sum(kept for _, kept in pairs))


def all_kept(months: Sequence[MonthKept]) -> float | None:
    """Return the share kept over all months, None of nothing."""
    planned = sum(each.planned_min for each in months)
    return sum(each.kept_min for each in months) / planned if planned else None


@dataclass(frozen=True, slots=True)
class PutRightRow:
    """Findings that one kind of people put right, and in how many sessions."""

    by: PutRightBy
    findings: int
    sessions: int


def put_right_rows(sessions: Iterable[HeldSession]) -> tuple[PutRightRow, ...]:
    """Return one row for everybody who can put a finding right, also where they put none right."""
    findings: Counter[PutRightBy] = Counter()
    in_sessions: Counter[PutRightBy] = Counter()
    for each in sessions:
        findings.update(each.put_right.values())
        in_sessions.update(set(each.put_right.values()))
    return tuple(PutRightRow(by, findings[by], in_sessions[by]) for by in PutRightBy)
