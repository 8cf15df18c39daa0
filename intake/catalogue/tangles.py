"""What hangs together and cannot: exposures, faults that make others moot, answers' shares, groups too large to reckon with."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import product

from intake.catalogue.errors import (
    DuplicateKeyError,
    DuplicateMootError,
    EntryError,
    ExposedLengthError,
    ExposureCircleError,
    ExposureSourceError,
    MissingFieldError,
    MootCycleError,
    OutOfRangeError,
    TooLikelyError,
    TooManyOutcomesError,
    UnknownReferenceError,
    WrongValueError,
)
from intake.catalogue.groups import connected
from intake.catalogue.schema import Check, Exposure, Fault, Moot
from intake.catalogue.shares import share_exposed, times_as_frequent

ROUNDING = 1e-9
MOST_OUTCOMES = 4096
MOST_EXPOSURES = 4


def find_tangles(checks: Sequence[Check], exposures: Sequence[Exposure], moots: Sequence[Moot]) -> Iterator[EntryError]:
    """Yield everything that is wrong with what makes checks depend on one another."""
    known = {check.key: check for check in checks}
    for check in checks:
        yield from _option_shares(check)
    yield from _doubled(exposures)
    sound = True
    for exposure in exposures:
        for problem in _exposure(exposure, known):
            sound = False
            yield problem
    if sound:
        yield from _exposed_faults(checks, exposures, known)
    yield from _moots(moots, {f"{check.key}.{fault.key}": fault for check in checks for fault in check.faults})
    yield from _sizes(checks, exposures, moots)


def _option_shares(check: Check) -> Iterator[EntryError]:
    shared = [option for option in check.options if option.share is not None]
    for option in shared:
        where = f"{check.key}.{option.key}.share"
        if not 0 <= (option.share or 0.0) <= 1:
            yield OutOfRangeError(where, f"{option.share:g} is not between 0 and 1")
        if any(option.faults.values()):
            yield WrongValueError(
                where, "an answer that tells of a fault has the fault's rate, and no share of its own"
            )
    total = sum(option.share or 0.0 for option in shared)
    if total > 1 + ROUNDING:
        yield TooLikelyError(f"{check.key}.share", total)


def _doubled(exposures: Iterable[Exposure]) -> Iterator[EntryError]:
    for name in ("key", "check"):
        times = Counter(getattr(exposure, name) for exposure in exposures)
        yield from (DuplicateKeyError(f"exposures.{value}") for value, count in times.items() if count > 1 and value)


def _exposure(exposure: Exposure, checks: Mapping[str, Check]) -> Iterator[EntryError]:
    for where, share in [("share", exposure.share), *((f"given.{key}", each) for key, each in exposure.given.items())]:
        if share is not None and not 0 <= share <= 1:
            yield OutOfRangeError(f"{exposure.key}.{where}", f"{share:g} is not between 0 and 1")
    if (exposure.share is None) == (not exposure.check) or bool(exposure.given) != bool(exposure.check):
        yield ExposureSourceError(exposure.key)
    elif exposure.check and exposure.check not in checks:
        yield UnknownReferenceError(f"{exposure.key}.check", "check", exposure.check)
    elif exposure.check:
        yield from _given(exposure, checks[exposure.check])


def _given(exposure: Exposure, check: Check) -> Iterator[EntryError]:
    answers = [option.key for option in check.options]
    yield from (MissingFieldError(f"{exposure.key}.given.{key}") for key in answers if key not in exposure.given)
    for key in exposure.given:
        if key not in answers:
            yield UnknownReferenceError(f"{exposure.key}.given", f"answer to {check.key} called", key)
    if any(exposure.key in fault.exposed for fault in check.faults):
        yield ExposureCircleError(exposure.key, check.key)


def _exposed_faults(
    checks: Iterable[Check], exposures: Iterable[Exposure], known: Mapping[str, Check]
) -> Iterator[EntryError]:
    shares = {exposure.key: share_exposed(exposure, known.get(exposure.check)) for exposure in exposures}
    for check in checks:
        problems = [problem for fault in check.faults for problem in _factors(check, fault, shares)]
        yield from problems
        if not problems and any(fault.exposed for fault in check.faults):
            yield from _exposed_rates(check, shares)


def _factors(check: Check, fault: Fault, shares: Mapping[str, float]) -> Iterator[EntryError]:
    where = f"{check.key}.{fault.key}.exposed"
    for key, factor in fault.exposed.items():
        if key not in shares:
            yield UnknownReferenceError(where, "exposure", key)
        if not 0 < factor < math.inf:
            yield OutOfRangeError(f"{where}.{key}", f"{factor:g} times as frequent cannot be meant")
    if fault.exposed and check.rules:
        yield ExposedLengthError(where)


def _exposed_rates(check: Check, shares: Mapping[str, float]) -> Iterator[EntryError]:
    keys = sorted({key for fault in check.faults for key in fault.exposed})
    worst: list[tuple[float, str]] = []
    for there in product((False, True), repeat=len(keys)):
        exposed = dict.fromkeys(shares, False) | dict(zip(keys, there, strict=True))
        rates = {fault.key: fault.rate * times_as_frequent(fault, shares, exposed) for fault in check.faults}
        worst += [(rate, f"{check.key}.{key}.exposed") for key, rate in rates.items()]
        worst.append((sum(rates.values()), f"{check.key}.exposed"))
    total, where = max(worst, key=lambda each: (each[0] > 1 + ROUNDING, each[1] != f"{check.key}.exposed", each[0]))
    if total > 1 + ROUNDING:
        yield TooLikelyError(where, total)


def _moots(moots: Sequence[Moot], faults: Mapping[str, Fault]) -> Iterator[EntryError]:
    for moot in moots:
        where = f"moots.{moot.fault}"
        for key in (moot.fault, *moot.spared):
            if key not in faults:
                yield UnknownReferenceError(where, "fault", key)
        if moot.fault in faults and faults[moot.fault].minutes is None:
            yield WrongValueError(where, "this fault costs no minutes, so it can spare none")
        for key in moot.spared:
            if key.partition(".")[0] == moot.fault.partition(".")[0]:
                yield WrongValueError(
                    where, f"“{key}” belongs to the same check; such faults exclude each other already"
                )
    pairs = Counter((moot.fault, key) for moot in moots for key in moot.spared)
    yield from (DuplicateMootError(f"moots.{fault}", key) for (fault, key), count in pairs.items() if count > 1)
    yield from _moot_cycles({fault: sorted(key for source, key in pairs if source == fault) for fault, _ in pairs})


def _moot_cycles(spared: Mapping[str, Sequence[str]]) -> Iterator[EntryError]:
    done: set[str] = set()

    def walk(key: str, path: tuple[str, ...]) -> Iterator[EntryError]:
        if key in path:
            yield MootCycleError((*path[path.index(key) :], key))
        elif key not in done:
            for other in spared.get(key, ()):
                yield from walk(other, (*path, key))
            done.add(key)

    for key in spared:
        yield from walk(key, ())


def _sizes(checks: Iterable[Check], exposures: Sequence[Exposure], moots: Iterable[Moot]) -> Iterator[EntryError]:
    if len(exposures) > MOST_EXPOSURES:
        yield TooManyOutcomesError([exposure.key for exposure in exposures], 2 ** len(exposures))
    sizes = {check.key: max(2, 1 + len(check.faults)) for check in checks}
    for group in connected(sizes, links(checks, moots)):
        outcomes = math.prod(sizes[key] for key in group)
        if outcomes > MOST_OUTCOMES:
            yield TooManyOutcomesError(group, outcomes)


def links(checks: Iterable[Check], moots: Iterable[Moot]) -> Collection[tuple[str, str]]:
    """Return the pairs of checks of which one waits for the other, or has faults that make the other's moot."""
    pairs = {
        (check.key, condition.subject.partition(".")[2])
        for check in checks
        for condition in check.conditions
        if condition.subject.startswith("answer.")
    }
    pairs |= {(moot.fault.partition(".")[0], key.partition(".")[0]) for moot in moots for key in moot.spared}
    return pairs
