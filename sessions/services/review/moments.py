"""Keep what the triage says of each session at the moments on which the studio's figures stand."""

from intake.services.snapshots import keep_due
from sessions.selectors.review.moments import checks_at_a_moment

MOST_AT_ONCE = 40  # Two moments each at most, and one statement to store them, also on SQLite.


def keep_due_moments(*, limit: int = MOST_AT_ONCE) -> int:
    """Keep the moments that coming sessions have reached, the soonest first; return how many.

    Two queries where nothing is due. A session that was booked late has several at once; nothing is kept twice.
    """
    due = checks_at_a_moment(limit)
    return keep_due(due) if due else 0
