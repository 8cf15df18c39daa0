"""What Hypothesis draws for the reminders: sessions known early or late, with anything still open."""

from datetime import timedelta

from hypothesis import strategies as st

from intake.chasing.occasions import Deadline, Outlook
from tests import strategies

shares = st.floats(0, 1, allow_subnormal=False)


@st.composite
def outlooks(draw, **fixed):
    """A session up to ten weeks after it became known, or on that very day."""
    known_on = draw(strategies.days)
    starts_on = known_on + timedelta(days=draw(st.integers(0, 70)))
    drawn = {
        "starts_on": starts_on,
        "known_on": known_on,
        "working_days": draw(strategies.working_days),
        "lead_days": draw(st.integers(0, 10)),
        "silent": draw(st.booleans()),
        "deadlines": tuple(
            Deadline(f"check{number}.fault", starts_on - timedelta(days=draw(st.integers(-1, 40))), draw(st.booleans()))
            for number in range(draw(st.integers(0, 4)))
        ),
        "advised_on": draw(st.none() | st.integers(0, 70).map(lambda days: known_on + timedelta(days=days))),
    }
    return Outlook(**drawn | fixed)
