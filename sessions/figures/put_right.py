"""Who put a finding right, from what was decided, reported and noted about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from intake.triage.answers import Ruling
from sessions.figures.values import PutRightBy

REPORTED_BY = {"rider": PutRightBy.RIDER, "workshop": PutRightBy.WORKSHOP}


@dataclass(frozen=True, slots=True)
class Traces:
    """What is left of one finding.

    ``ruling`` is the fitter's in force, empty where there is none; ``done_by`` is ``rider`` or ``workshop`` where the latest report
    says that it is done, else empty; ``bench_min`` are the minutes noted for it at the bench, 0 where none were.
    """

    ruling: str = ""
    done_by: str = ""
    bench_min: int = 0


def put_right_by(traces: Traces) -> PutRightBy | None:
    """Return who put a finding right, None where nobody did before or in the session.

    A part that came along was put right by whoever brought it, though fitting it took minutes at the bench. Otherwise minutes at
    the bench outweigh a report: whatever was reported, the fault still reached the slot.

    >>> put_right_by(Traces(done_by="workshop"))
    <PutRightBy.WORKSHOP: 'workshop'>
    >>> put_right_by(Traces(done_by="workshop", bench_min=20))
    <PutRightBy.STUDIO: 'studio'>
    """
    if traces.ruling == Ruling.BRING_PART:
        return PutRightBy.PART
    if traces.bench_min or traces.ruling == Ruling.STUDIO:
        return PutRightBy.STUDIO
    if traces.ruling in {Ruling.NOT_A_FAULT, Ruling.ACCEPT}:
        return None
    if traces.done_by:
        return REPORTED_BY[traces.done_by]
    return PutRightBy.UNSAID if traces.ruling == Ruling.FIXED else None


def all_put_right(traces: Mapping[str, Traces]) -> dict[str, PutRightBy]:
    """Return by finding key who put it right, without those that nobody did."""
    found = {key: put_right_by(each) for key, each in traces.items()}
    return {key: by for key, by in found.items() if by is not None}
