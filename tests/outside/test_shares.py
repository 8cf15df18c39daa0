"""The interval of a share against SciPy's.

Source: SciPy, ``scipy.stats.binomtest(...).proportion_ci(method="wilson")``, after E. B. Wilson 1927, J. Am. Stat. Assoc. 22:209–212
[reference from memory].
"""

import pytest
from scipy.stats import binomtest

from sessions.figures.shares import Share


@pytest.mark.parametrize(
    ("count", "total"), [(0, 1), (1, 1), (0, 7), (3, 7), (9, 10), (50, 56), (900, 1000), (2000, 2000)]
)
def test_the_interval_is_wilsons(count, total):
    """To the last figure that a float holds."""
    expected = binomtest(count, total).proportion_ci(confidence_level=0.95, method="wilson")
    assert Share(count, total).interval == pytest.approx((expected.low, expected.high), abs=1e-12)


def test_of_nothing_it_is_everything():
    """No session says nothing."""
    assert Share(0, 0).interval == (0, 1)
