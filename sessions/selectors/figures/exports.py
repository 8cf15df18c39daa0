"""The figures as tables to take away. None of them names a rider, a bike, a fitter or a note."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from intake.models import SnapshotMoment
from sessions.figures.csv_lines import Cell, csv_lines
from sessions.figures.tables import compared, months_kept, put_right_rows, verdict_table
from sessions.figures.values import HeldSession, Moment
from sessions.selectors.figures.words import PUT_RIGHT, VERDICTS

Rows = Iterable[Sequence[Cell]]


@dataclass(frozen=True)
class Export:
    """One table: what it holds, its header with units, and its rows."""

    title: Promise
    header: tuple[Promise, ...]
    rows: Callable[[Sequence[HeldSession]], Rows]

    def lines(self, sessions: Sequence[HeldSession]) -> Iterator[str]:
        """Yield the table line by line."""
        return csv_lines([str(name) for name in self.header], self.rows(sessions))


def _verdicts(sessions: Sequence[HeldSession]) -> Rows:
    counts = verdict_table(sessions).counts
    for key, word in VERDICTS.items():
        yield (str(word), *(counts[moment][key] for moment in Moment))


def _moves(sessions: Sequence[HeldSession]) -> Rows:
    names = {moment.value: str(moment.label) for moment in SnapshotMoment}
    for (moment, then, now), count in sorted(verdict_table(sessions).moves.items()):
        yield names[moment], str(VERDICTS[then]), str(VERDICTS[now]), count


def _forecasts(sessions: Sequence[HeldSession]) -> Rows:
    for each, _shape, actual in compared(sessions):
        yield each.session_id, each.day, *_forecast(each), actual


def _forecast(each: HeldSession) -> tuple[Cell, ...]:
    shape = each.forecast
    return (round(shape.mean_min, 1), shape.low_min, shape.high_min, shape.p90_min) if shape else (None,) * 4


def _hands_on(sessions: Sequence[HeldSession]) -> Rows:
    for month in months_kept(sessions):
        share_pct = round(100 * month.share, 1)
        yield f"{month.month:%Y-%m}", month.sessions, month.planned_min, month.kept_min, share_pct


def _put_right(sessions: Sequence[HeldSession]) -> Rows:
    for row in put_right_rows(sessions):
        yield str(PUT_RIGHT[row.by]), row.findings, row.sessions


def _sessions(sessions: Sequence[HeldSession]) -> Rows:
    for each in sessions:
        verdicts = (str(VERDICTS[each.verdicts[moment]]) if moment in each.verdicts else "" for moment in Moment)
        readiness = None if each.readiness_pct is None else round(each.readiness_pct, 1)
        counts = tuple(sum(by == who for by in each.put_right.values()) for who in PUT_RIGHT)
        minutes = (each.actual_min, each.planned_min, each.slack_min, each.kept_min)
        yield (
            each.session_id,
            f"{each.day:%Y-%m}",
            each.day,
            each.service,
            *verdicts,
            readiness,
            *_forecast(each),
            *minutes,
            *counts,
        )


SESSION, DAY = _("session"), _("day")
FORECAST = (
    _("forecast mean (min)"),
    _("forecast 5th percentile (min)"),
    _("forecast 95th percentile (min)"),
    _("forecast 90th percentile (min)"),
)
MOMENTS = tuple(moment.label for moment in SnapshotMoment)
KEPT = _("hands-on kept (min)")
PLANNED = _("hands-on planned (min)")
ACTUAL = _("actual (min)")
EXPORTS = {
    "verdicts": Export(_("Sessions by verdict"), (_("verdict"), *MOMENTS), _verdicts),
    "moves": Export(_("How verdicts moved"), (_("from"), _("verdict then"), _("verdict next"), _("sessions")), _moves),
    "forecasts": Export(_("Forecast and actual minutes"), (SESSION, DAY, *FORECAST, ACTUAL), _forecasts),
    "hands-on": Export(
        _("Hands-on minutes kept, by month"),
        (_("month"), _("sessions"), PLANNED, KEPT, _("kept (%)")),
        _hands_on,
    ),
    "put-right": Export(_("Who put findings right"), (_("who"), _("findings"), _("sessions")), _put_right),
    "sessions": Export(
        _("Every session, without personal data"),
        (
            *(SESSION, _("month"), DAY, _("service"), *MOMENTS, _("readiness on the day (%)"), *FORECAST),
            *(ACTUAL, PLANNED, _("slack (min)"), KEPT),
            *PUT_RIGHT.values(),
        ),
        _sessions,
    ),
}
