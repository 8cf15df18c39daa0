"""Each fault as the catalogue starts it, as the studio counted it, and as both together tell it."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from intake.experience.learning import Learned, PriorWeights, learn_all
from intake.experience.minutes import MinutesBelief
from intake.selectors.catalogue import current_catalogue
from intake.selectors.experience import counts, prior_weights

SORTS = {
    "moved": _("what moved most"),
    "seen": _("what was seen most"),
    "cost": _("what costs most"),
    "bike": _("the order of the check"),
}
LITTLE = 5  # sessions below which a rate is mostly the catalogue's


@dataclass(frozen=True)
class FaultRow:
    """One fault on the page; chances in percent, minutes whole."""

    check: str
    learned: Learned

    @property
    def title(self) -> str:
        """Return the fault's name."""
        return self.learned.fault.title

    @property
    def prior_pct(self) -> float:
        """Return the catalogue's rate."""
        return 100 * self.learned.rate_before.mean

    @property
    def rate_pct(self) -> float:
        """Return the rate that forecasts reckon with."""
        return 100 * self.learned.rate.mean

    @property
    def rate_interval_pct(self) -> tuple[float, float]:
        """Return the interval that holds the rate with 90 %."""
        low, high = self.learned.rate.interval()
        return 100 * low, 100 * high

    @property
    def median_interval_min(self) -> tuple[float, float] | None:
        """Return the interval that holds the median minutes with 90 %."""
        belief: MinutesBelief | None = self.learned.minutes
        return belief.median_interval_min() if belief else None


@dataclass(frozen=True)
class ExperiencePage:
    """All rows in the chosen order, the weights, and from how much was learned."""

    rows: tuple[FaultRow, ...]
    weights: PriorWeights
    sort: str

    @property
    def most_seen(self) -> int:
        """Return in how many sessions the best known fault was seen either way."""
        return max((row.learned.counted.seen for row in self.rows), default=0)


def experience_page(sort: str) -> ExperiencePage:
    """Return the page: two queries; an unknown order is the usual one."""
    catalogue, weights = current_catalogue(), prior_weights()
    checks = {check.key: check.title for check in catalogue.checks}
    learned = learn_all(catalogue, counts(), weights)
    rows = [FaultRow(checks[each.key.partition(".")[0]], each) for each in learned]
    sort = sort if sort in SORTS else "moved"
    if sort != "bike":
        rows.sort(key=ORDERS[sort], reverse=True)
    return ExperiencePage(tuple(rows), weights, sort)


ORDERS = {
    "moved": lambda row: abs(row.learned.moved_min),
    "seen": lambda row: (row.learned.counted.faults, row.learned.counted.seen),
    "cost": lambda row: row.learned.cost_min,
}
