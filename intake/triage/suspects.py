"""Mechanical suspects: findings that are worth ruling out before a complaint is put down to the position."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum

from intake.catalogue.schema import Check, Evidence, Hazard, Link, LinkSides, Side
from intake.triage.answers import Answer, Complaint, Ruling, TriageInput
from intake.triage.findings import Finding

SIDE_WORDS = {"left": "left", "right": "right", "both": "both sides"}
BIKE_FAULTS = frozenset({Hazard.NONE, Hazard.DO_NOT_RIDE})


class SideMatch(IntEnum):
    """How the side of a complaint fits the side of a fault, the likelier pairs first."""

    SAME = 0
    OPEN = 1
    OTHER = 2


@dataclass(frozen=True, slots=True)
class Suspect:
    """A complaint beside a finding that can go with it: a possibility, never a cause.

    Attributes
    ----------
    link : Link
        What pairs them, with the strength of the evidence and its source, for the fitter.
    side : Side or None
        The side on which the answer found the fault, None where it does not say.
    match : SideMatch
        Whether that is the side of the complaint; open where one of them has none, or where the link says that either counts.
    """

    complaint: Complaint
    finding: Finding
    link: Link
    side: Side | None
    match: SideMatch
    text: str

    @property
    def title(self) -> str:
        """The finding with its side, ready to stand inside a sentence."""
        return sided(self.finding.title, self.side)

    @property
    def sure(self) -> bool:
        """Whether the answer leaves no doubt about the finding."""
        return self.finding.sure


@dataclass(frozen=True, slots=True)
class PutRight:
    """A complaint beside a linked fault that has been put right: whether it has gone is worth asking."""

    complaint: Complaint
    key: str
    title: str


def suspects(given: TriageInput, listed: tuple[Finding, ...]) -> tuple[Suspect, ...]:
    """Pair each complaint with the standing findings that the catalogue links to its body area.

    The worst complaint first; beside it what is on its own side before what is on no known side, and that before the other side;
    then sure findings, stronger evidence, likelier findings. A score of 0 is no complaint.
    """
    found = {finding.key: finding for finding in listed if finding.standing > 0 and finding.hazard in BIKE_FAULTS}
    labels = {area.key: area.label for area in given.catalogue.areas}
    pairs = [
        _suspect(complaint, found[link.finding], link, given.answers, labels)
        for complaint in given.complaints
        for link in given.catalogue.links
        if complaint.score > 0 and complaint.area == link.area and link.finding in found
    ]
    return tuple(sorted(pairs, key=_rank))


def _suspect(
    complaint: Complaint, finding: Finding, link: Link, answers: Mapping[str, Answer], labels: Mapping[str, str]
) -> Suspect:
    side = side_of(finding.check, finding.fault.key, answers)
    text = _text(complaint, finding, side, labels)
    return Suspect(complaint, finding, link, side, side_match(link, complaint.side, side), text)


def _rank(suspect: Suspect) -> tuple[float, ...]:
    return (
        -suspect.complaint.score,
        suspect.match,
        not suspect.sure,
        list(Evidence).index(suspect.link.evidence),
        -suspect.finding.probability,
    )


def side_of(check: Check, fault: str, answers: Mapping[str, Answer]) -> Side | None:
    """Return the side on which the answer to a check found this fault; None where it does not say."""
    answer = answers.get(check.key)
    if answer is None:
        return None
    return next(
        (option.side for option in check.options if option.key == answer.option and option.faults.get(fault)), None
    )


def side_match(link: Link, complaint_side: str, fault_side: Side | None) -> SideMatch:
    """Return how the side of a complaint (``left``, ``right``, ``both`` or empty) fits the side of a fault.

    >>> link = Link("knee", "pedal.rocks", Evidence.COMMON_PRACTICE, "Common practice.", LinkSides.SAME)
    >>> [side_match(link, "left", side).name for side in (Side.LEFT, Side.BOTH, None, Side.RIGHT)]
    ['SAME', 'SAME', 'OPEN', 'OTHER']
    """
    if link.sides is LinkSides.EITHER or not complaint_side or fault_side is None:
        return SideMatch.OPEN
    return (
        SideMatch.SAME if Side.BOTH in {complaint_side, fault_side} or complaint_side == fault_side else SideMatch.OTHER
    )


def sided(title: str, side: Side | None) -> str:
    """Return a finding's title with its side.

    >>> sided("Pedal rocks on its axle", Side.LEFT)
    'Pedal rocks on its axle, left'
    """
    return f"{title}, {SIDE_WORDS[side]}" if side else title


def _text(complaint: Complaint, finding: Finding, side: Side | None, labels: Mapping[str, str]) -> str:
    area = labels.get(complaint.area, complaint.area)
    where = f", {SIDE_WORDS.get(complaint.side, complaint.side)}" if complaint.side else ""
    found = "found" if finding.sure else "possibly there"
    title = sided(finding.title, side)
    return f"{area}{where} ({complaint.score} of 10): worth ruling out first, {found}: {title}."


def put_right(given: TriageInput) -> tuple[PutRight, ...]:
    """Return the complaints beside linked faults that are ruled fixed, the worst complaint first.

    By the rulings, not by what is still listed: a rider who answers again that all is well now has not taken the repair back.
    What was on the other side of the body is not asked about.
    """
    pairs = [
        PutRight(complaint, link.finding, sided(*found))
        for complaint in given.complaints
        for link in given.catalogue.links
        if complaint.score > 0 and complaint.area == link.area and given.rulings.get(link.finding) is Ruling.FIXED
        if (found := _fault_of(link, given)) is not None
        if side_match(link, complaint.side, found[1]) is not SideMatch.OTHER
    ]
    return tuple(sorted(pairs, key=lambda pair: -pair.complaint.score))


def _fault_of(link: Link, given: TriageInput) -> tuple[str, Side | None] | None:
    """Return title and side of a linked fault of the bike; None where the catalogue has it no more, or it is no such fault."""
    check_key, _, fault_key = link.finding.partition(".")
    for check in given.catalogue.checks:
        for fault in check.faults:
            if (check.key, fault.key) == (check_key, fault_key) and fault.hazard in BIKE_FAULTS:
                return fault.title.rstrip(". "), side_of(check, fault.key, given.answers)
    return None
