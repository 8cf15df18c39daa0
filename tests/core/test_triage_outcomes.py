"""What became of a complaint: gone, eased, unchanged or worse."""

import pytest

from intake.triage.outcomes import Course, ScoreError, course, went

ORDER = [Course.GONE, Course.EASED, Course.UNCHANGED, Course.WORSE]
SCORES = [(before, now) for before in range(1, 11) for now in range(11)]


@pytest.mark.parametrize(("before", "now"), SCORES)
def test_a_better_score_is_never_a_worse_course(before, now):
    """Over the whole scale; what did not change is unchanged, and more is worse."""
    found = course(before, now)
    if now:
        assert ORDER.index(course(before, now - 1)) <= ORDER.index(found)
    assert (found is Course.WORSE) == (now > before)
    assert (found is Course.GONE) == (now == 0)
    assert went(before, now) == (found in {Course.GONE, Course.EASED})
    assert course(before, before) is Course.UNCHANGED


@pytest.mark.parametrize(("before", "now"), [(0, 0), (11, 3), (5, -1), (5, 11)])
def test_what_is_no_score_is_refused(before, now):
    """Nothing can go that never hurt; the scale ends at ten."""
    with pytest.raises(ScoreError, match="from 1 to 10") as refused:
        course(before, now)
    assert refused.value.score in {before, now}
