"""What the rules of the verdict look at, worked out once for all of them."""

from __future__ import annotations

from dataclasses import dataclass

from intake.catalogue.schema import Adjustment
from intake.triage.answers import Slot
from intake.triage.chances import Chances
from intake.triage.findings import Case, Finding
from intake.triage.joint import Joint


@dataclass(frozen=True, slots=True)
class Scene:
    """What the checks can show together, the findings that are listed, the slot, and the chances to run to plan."""

    joint: Joint
    listed: tuple[Finding, ...]
    slot: Slot
    chances: Chances

    @property
    def cases(self) -> tuple[Case, ...]:
        """Every check that applies, or may."""
        return self.joint.cases

    @property
    def essential(self) -> list[Adjustment]:
        """The essential adjustments, always in the same order."""
        return [each for each in Adjustment if each in self.slot.essential]

    @property
    def undecided(self) -> bool:
        """Whether the best and the worst answers still possible lie far enough apart to be worth asking."""
        return self.chances.best - self.chances.worst > self.slot.thresholds.ask_gain

    @property
    def leaves_aside(self) -> bool:
        """Whether a fitter has accepted bench minutes: the chances leave them aside, so that they lie above the forecast's."""
        every = (finding for case in self.cases for finding in case.findings)
        return any(not finding.counted and finding.expected_min > 0 for finding in every)

    @property
    def costly(self) -> list[Finding]:
        """What answers have shown that costs bench minutes and counts, the costliest first."""
        costly = [finding for finding in self.listed if finding.counted and finding.said and finding.expected_min > 0]
        return sorted(costly, key=lambda finding: finding.expected_min, reverse=True)
