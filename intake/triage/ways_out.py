"""In how many ways a finding can be put right in time, and what each leaves of it."""

from __future__ import annotations

from dataclasses import dataclass

from intake.catalogue.schema import CostBand, Hazard, Remedy, Who
from intake.triage.answers import Ruling, Slot
from intake.triage.deadlines import DatedRemedy, dated_remedies
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from intake.triage.red_flags import ADVICE
from intake.triage.verdict import Reason, Verdict

IN_THE_WAY = frozenset({Verdict.DO_NOT_RIDE, Verdict.FIX_FIRST})
OVERRUNS = frozenset({"overrun", "bench_overrun"})
AT_BENCH = Remedy(
    key="at_bench",
    who=Who.STUDIO,
    title="The studio does it at the bench",
    detail="The studio puts this right in the session. It uses some of the session's time.",
    lead_days=0,
    cost=CostBand.FREE,
)


@dataclass(frozen=True, slots=True)
class WayOut:
    """One finding with one remedy that is in time, and the ruling by which a fitter decides on it."""

    finding: Finding
    way: DatedRemedy
    ruling: Ruling

    @property
    def outcome(self) -> Ruling:
        """What holds on the session's day once it is carried out: what was to be fixed first is fixed."""
        return Ruling.FIXED if self.ruling is Ruling.FIX_FIRST else self.ruling

    @property
    def person(self) -> Who:
        """Who has the work: whoever brings a part is the rider."""
        who = self.way.remedy.who
        return Who.RIDER if who is Who.BRING else who


def in_the_way(reasons: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """Return the reasons for which a session is not held as things stand."""
    return tuple(reason for reason in reasons if reason.verdict in IN_THE_WAY)


def candidates(found: Triage, reasons: tuple[Reason, ...]) -> tuple[Finding, ...]:
    """Return the findings among which a plan chooses: those that reasons name, or whose checks they do.

    Where minutes are too many, all that cost any.
    """
    named = {key for reason in in_the_way(reasons) for key in reason.findings}
    open_ = {key for reason in reasons for key in reason.checks}
    minutes = any(reason.code in OVERRUNS for reason in reasons)
    return tuple(
        each
        for each in found.findings
        if each.hazard not in ADVICE
        and (
            each.key in named or (each.check.key in open_ and each.said and each.counted) or (minutes and _costs(each))
        )
    )


def _costs(finding: Finding) -> bool:
    return finding.counted and finding.said and finding.expected_min > 0


def ways_out(finding: Finding, slot: Slot) -> tuple[WayOut, ...]:
    """Return every way in which this finding can still be put right for the slot, in the catalogue's order.

    What a fitter has ruled to be fixed first stays with the rider and the workshop as long as one of them can do it in time. A
    hazard is for a workshop alone. What is so already is no way out.
    """
    in_time = [each for each in every_way(finding, slot) if not each.way.late]
    agreed = [each for each in in_time if each.ruling is Ruling.FIX_FIRST is finding.ruling]
    return tuple(agreed or [each for each in in_time if each.ruling is not finding.ruling])


def every_way(finding: Finding, slot: Slot) -> tuple[WayOut, ...]:
    """Return every way out, in time or not."""
    return (*_before(finding), *_brought(finding), *_at_bench(finding, slot))


def _before(finding: Finding) -> list[WayOut]:
    able = (Who.WORKSHOP,) if finding.hazard is not Hazard.NONE else (Who.RIDER, Who.WORKSHOP)
    return [WayOut(finding, way, Ruling.FIX_FIRST) for way in finding.ways(*able) if not way.remedy.prepares]


def _brought(finding: Finding) -> list[WayOut]:
    if finding.hazard is not Hazard.NONE:
        return []
    return [WayOut(finding, way, Ruling.BRING_PART) for way in finding.ways(Who.BRING)]


def _at_bench(finding: Finding, slot: Slot) -> list[WayOut]:
    if finding.hazard is not Hazard.NONE:
        return []
    ways = finding.ways(Who.STUDIO) or _unnamed(finding, slot)
    return [WayOut(finding, way, Ruling.STUDIO) for way in ways if not way.remedy.prepares]


def _unnamed(finding: Finding, slot: Slot) -> tuple[DatedRemedy, ...]:
    """Return work at the bench that no remedy names: its minutes are known, and somebody can do it without a part."""
    if finding.minutes is None or all(each.way.remedy.part for each in _before(finding)):
        return ()
    return (dated_remedies({AT_BENCH.key: AT_BENCH}, slot)[AT_BENCH.key],)
