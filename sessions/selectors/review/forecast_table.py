"""The forecast's picture in figures, for those who do not see it."""

from dataclasses import dataclass
from itertools import pairwise

from django.utils.translation import gettext as _

from intake.triage.forecast import Forecast

OVER_MIN = (15, 30, 60, 120)


@dataclass(frozen=True)
class ForecastRow:
    """Some bench minutes in words, the share of such sessions that lose them, and whether the slack holds them."""

    minutes: str
    share_pct: float
    within: bool


def forecast_table(forecast: Forecast) -> list[ForecastRow]:
    """Return the shares of sessions: no bench work at all, up to the slack, and so much over it; together all of them."""
    slack_min = forecast.slack_min
    cuts = [-1, *([0] if slack_min else []), slack_min, *(slack_min + over for over in OVER_MIN)]
    rows = [_row(forecast, after, to) for after, to in pairwise(cuts)]
    beyond = ForecastRow(
        _("more than %(minutes)d") % {"minutes": cuts[-1]}, _share(forecast, cuts[-1], None), within=False
    )
    return [*rows, beyond]


def _row(forecast: Forecast, after_min: int, to_min: int) -> ForecastRow:
    words = "0" if to_min == 0 else f"{after_min + 1}–{to_min}"
    return ForecastRow(words, _share(forecast, after_min, to_min), within=to_min <= forecast.slack_min)


def _share(forecast: Forecast, after_min: int, to_min: int | None) -> float:
    last = None if to_min is None else to_min + 1
    return 100 * float(forecast.pmf[after_min + 1 : last].sum())
