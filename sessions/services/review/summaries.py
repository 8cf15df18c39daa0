"""Keep what the review list shows of each session true from one day to the next."""

from intake.services.triage import BATCH, refresh_many
from sessions.selectors.review.listing import stale_checks


def refresh_stale(*, limit: int = BATCH) -> int:
    """Judge again what was last judged on another day or by another catalogue, the soonest sessions first; return how many.

    One batch: what a studio's coming weeks hold is judged within the first look of the day. What lies beyond the limit waits for
    the next call: until then it stands in the list by the day that was right when it was judged, so that nothing that has become
    due hides behind it.
    """
    stale = stale_checks(limit)
    if stale:
        refresh_many(stale)
    return len(stale)
