"""Red flags that nobody has acknowledged since the rider raised them."""

from collections.abc import Iterable
from datetime import datetime

from intake.models import PreVisitCheck
from intake.selectors.triage import Told
from intake.triage.engine import Triage
from intake.triage.red_flags import RedFlag


def open_flags(pre_visit: PreVisitCheck, triage: Triage) -> tuple[RedFlag, ...]:
    """Return the standing red flags that nobody at the studio has read since they were raised: no query without a flag, else two."""
    if not triage.red_flags:
        return ()
    return _unread_of(pre_visit, triage, dict(pre_visit.answers.values_list("check_key", "answered_at")))


def open_flags_of(pre_visit: PreVisitCheck, triage: Triage, told: Told) -> tuple[RedFlag, ...]:
    """Return the same where the answers are read already: no query without a flag, else one."""
    if not triage.red_flags:
        return ()
    return _unread_of(pre_visit, triage, {key: row.answered_at for key, row in told.answers.items()})


def _unread_of(pre_visit: PreVisitCheck, triage: Triage, raised: dict[str, datetime]) -> tuple[RedFlag, ...]:
    last_note = pre_visit.red_flag_notes.order_by("-pk").values_list("noted_at", flat=True).first()
    return unread(triage.red_flags, raised, last_note)


def unread(flags: Iterable[RedFlag], raised: dict[str, datetime], last_note: datetime | None) -> tuple[RedFlag, ...]:
    """Return the flags whose answers (``raised``: when, by check) came after the last note; without a note, all of them."""
    if last_note is None:
        return tuple(flags)
    return tuple(flag for flag in flags if raised.get(flag.finding.check.key, last_note) > last_note)
