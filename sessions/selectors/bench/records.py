"""Sessions at the bench with their fit records, and what of a record is still open."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from sessions.diary.states import SessionState, can_move
from sessions.models import FitRecord, FitSession, SafetyEntry
from sessions.safety import SafetyLine, Text, lines_for, open_because

RELATED = ("studio", "service", "client", "bike", "fitter", "bay", "pre_visit", "fit_record__closed_by")
# The states in which a record may be written: the rider is there, or the session is over and something is put right.
WRITABLE = frozenset({SessionState.UNDER_WAY, SessionState.DONE})


@dataclass(frozen=True)
class Bench:
    """A session with its record, if one was begun."""

    fit_session: FitSession
    record: FitRecord | None

    @property
    def is_begun(self) -> bool:
        """Return whether there is a record that belongs to a session that takes place."""
        return self.record is not None and self.fit_session.state in WRITABLE

    @property
    def is_open(self) -> bool:
        """Return whether the record may be written."""
        return self.is_begun and self.record.closed_at is None

    @property
    def is_closed(self) -> bool:
        """Return whether the record is finished; the rider sees the sheet only then."""
        return self.record is not None and self.record.closed_at is not None

    @property
    def open_count(self) -> int:
        """Return how many lines of the closing list are not settled: one query."""
        return len(open_lines(self.record))

    @property
    def can_begin(self) -> bool:
        """Return whether the record can be begun now."""
        state = SessionState(self.fit_session.state)
        return not self.is_begun and (state in WRITABLE or can_move(state, SessionState.UNDER_WAY))


def benches() -> QuerySet[FitSession]:
    """Return sessions with all that the bench and the sheet show of them."""
    return FitSession.objects.select_related(*RELATED)


def bench_of(pk: int) -> Bench:
    """Return a session at the bench, or 404."""
    return _bench(get_object_or_404(benches(), pk=pk))


def bench_of_check(pre_visit_id: int) -> Bench:
    """Return the session of a rider's check, or 404."""
    return _bench(get_object_or_404(benches(), pre_visit_id=pre_visit_id))


def _bench(fit_session: FitSession) -> Bench:
    return Bench(fit_session, getattr(fit_session, "fit_record", None))


def safety_entries(record: FitRecord) -> Mapping[str, SafetyEntry]:
    """Return what was said on the closing list, by line."""
    return {entry.item: entry for entry in record.safety_entries.all()}


def open_lines(record: FitRecord) -> tuple[tuple[SafetyLine, Text], ...]:
    """Return the lines of the closing list that are still open, each with the reason."""
    entries = safety_entries(record)
    reasons = ((line, _open(line, entries.get(line.key))) for line in lines_for(record.fit_session.bike))
    return tuple((line, reason) for line, reason in reasons if reason)


def _open(line: SafetyLine, entry: SafetyEntry | None) -> Text:
    if entry is None:
        return open_because(line, state="", torque="", note="")
    return open_because(line, state=entry.state, torque=entry.torque_as_printed, note=entry.note)
