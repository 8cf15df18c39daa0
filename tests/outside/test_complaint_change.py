"""How much a 0–10 pain score must fall to count: the published figure."""

import pytest

from intake.triage.outcomes import LEAST_FALL, LEAST_FALL_SHARE, Course, course


def test_the_fall_that_counts_is_the_published_one():
    """Farrar et al. 2001, Pain 94:149–158 (2724 patients, 10 trials): about 2 points or 30 % is clinically important (abstract)."""
    assert (LEAST_FALL, LEAST_FALL_SHARE) == (2, 0.30)


@pytest.mark.parametrize(
    ("before", "now", "expected"),
    [
        (10, 8, Course.EASED),  # 2 points, 20 %
        (3, 2, Course.EASED),  # 1 point, 33 %
        (4, 3, Course.UNCHANGED),  # 1 point, 25 %
        (10, 9, Course.UNCHANGED),  # 1 point, 10 %
        (1, 0, Course.GONE),
        (2, 1, Course.EASED),  # 50 %
    ],
)
def test_either_half_of_the_rule_is_enough(before, now, expected):
    """The same source: the percentage holds across baselines, the points need more of a high one."""
    assert course(before, now) is expected
