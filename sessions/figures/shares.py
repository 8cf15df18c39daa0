"""A share of a few sessions, with how far it can be trusted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

FEW = 10  # common practice, no source: below so many, a share is shown with a word of warning
Z95 = NormalDist().inv_cdf(0.975)


@dataclass(frozen=True, slots=True)
class Share:
    """So many of so many; ``low`` and ``high`` are the ends of the 95 % interval, 0 to 1."""

    count: int
    total: int

    @property
    def share(self) -> float | None:
        """The share itself; None of nothing."""
        return self.count / self.total if self.total else None

    @property
    def is_few(self) -> bool:
        """Whether so little says next to nothing by itself."""
        return self.total < FEW

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % interval: the values of the true share with which this count would be no surprise.

        Notes
        -----
        The score interval of E. B. Wilson, "Probable inference, the law of succession, and statistical inference", Journal of the
        American Statistical Association 22 (1927), 209–212 [reference from memory]. Of nothing it is everything, 0 to 1.

        >>> low, high = Share(9, 10).interval
        >>> round(low, 3), round(high, 3)
        (0.596, 0.982)
        """
        if not self.total:
            return 0.0, 1.0
        share, spread = self.count / self.total, Z95 * Z95 / self.total
        middle = (share + spread / 2) / (1 + spread)
        half = Z95 * math.sqrt(share * (1 - share) / self.total + spread / (4 * self.total)) / (1 + spread)
        return max(0.0, middle - half), min(1.0, middle + half)
