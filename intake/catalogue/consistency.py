"""What only the whole catalogue can show to be wrong: doubled keys, names of nothing, impossible figures, circles."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence

from intake.catalogue.errors import (
    ConditionCycleError,
    DuplicateKeyError,
    DuplicateLinkError,
    EntryError,
    LimitsReversedError,
    NoRemedyError,
    OutOfRangeError,
    RiderOnlyHazardError,
    RuleWithoutLimitError,
    SidelessAreaError,
    TooLikelyError,
    UnknownReferenceError,
    UnreachableFaultError,
    WrongValueError,
)
from intake.catalogue.schema import (
    BIKE_FACTS,
    COULD_NOT,
    AnswerOption,
    BodyArea,
    Check,
    Condition,
    Fault,
    Hazard,
    Link,
    LinkSides,
    NumberRule,
    Remedy,
    Who,
)

ROUNDING = 1e-9


def find_problems(
    checks: Sequence[Check], remedies: Sequence[Remedy], areas: Sequence[BodyArea], links: Sequence[Link] = ()
) -> Iterator[EntryError]:
    """Yield everything that does not fit together."""
    for entries in (areas, remedies, checks):
        yield from _doubled([entry.key for entry in entries])
    yield from _lead_times(remedies)
    known_remedies = {remedy.key: remedy for remedy in remedies}
    known_checks = {check.key: check for check in checks}
    for check in checks:
        yield from _inside(check)
        for fault in check.faults:
            yield from _fault(f"{check.key}.{fault.key}", fault, known_remedies)
        for place, condition in enumerate(check.conditions, 1):
            yield from _condition(f"{check.key}.conditions[{place}]", condition, known_checks)
    yield from _links(links, areas, {f"{check.key}.{fault.key}" for check in checks for fault in check.faults})
    yield from _cycles(known_checks)


def _doubled(keys: Iterable[str], where: str = "") -> Iterator[EntryError]:
    for key, times in Counter(keys).items():
        if times > 1 and key:
            yield DuplicateKeyError(f"{where}{key}")


def _links(links: Iterable[Link], areas: Iterable[BodyArea], findings: Collection[str]) -> Iterator[EntryError]:
    known = {area.key: area for area in areas}
    times = Counter((link.finding, link.area) for link in links)
    for (finding, area), count in times.items():
        where = f"links.{finding}"
        if count > 1:
            yield DuplicateLinkError(where, area)
        if area not in known:
            yield UnknownReferenceError(where, "body area", area)
    yield from (
        UnknownReferenceError(f"links.{finding}", "fault", finding)
        for finding in dict.fromkeys(link.finding for link in links)
        if finding not in findings
    )
    for link in links:
        if link.sides is LinkSides.SAME and link.area in known and not known[link.area].sided:
            yield SidelessAreaError(f"links.{link.finding}", link.area)


def _lead_times(remedies: Iterable[Remedy]) -> Iterator[EntryError]:
    for remedy in remedies:
        if remedy.lead_days < 0:
            yield OutOfRangeError(
                f"{remedy.key}.lead_days", f"{remedy.lead_days} working days would end before they begin"
            )


def _inside(check: Check) -> Iterator[EntryError]:
    for entries in (check.options, check.faults, check.numbers):
        yield from _doubled([entry.key for entry in entries], f"{check.key}.")
    if not check.options:
        yield WrongValueError(f"{check.key}.options", "a check needs at least one answer")
    yield from _fact(check)
    yield from _rates(check)
    known = {fault.key for fault in check.faults}
    for option in check.options:
        yield from _option(f"{check.key}.{option.key}", option, known)
    yield from _lengths(check, known)
    reached = {key for option in check.options for key, chance in option.faults.items() if chance > 0}
    reached |= {rule.fault for rule in check.rules}
    for fault in check.faults:
        if fault.key not in reached:
            yield UnreachableFaultError(f"{check.key}.{fault.key}")


def _fact(check: Check) -> Iterator[EntryError]:
    if not check.fact:
        return
    if check.fact not in BIKE_FACTS:
        yield UnknownReferenceError(f"{check.key}.fact", "bike fact", check.fact)
        return
    options = {option.key for option in check.options}
    for value in BIKE_FACTS[check.fact]:
        if value not in options:
            yield UnknownReferenceError(f"{check.key}.fact", "answer for the bike fact", value)


def _rates(check: Check) -> Iterator[EntryError]:
    for fault in check.faults:
        if not 0 <= fault.rate <= 1:
            yield OutOfRangeError(f"{check.key}.{fault.key}.rate", f"{fault.rate:g} is not between 0 and 1")
    total = sum(fault.rate for fault in check.faults)
    if total > 1 + ROUNDING:
        yield TooLikelyError(f"{check.key}.rate", total)


def _option(where: str, option: AnswerOption, known: Collection[str]) -> Iterator[EntryError]:
    if option.key == COULD_NOT:
        yield WrongValueError(where, f"every check takes “{COULD_NOT}” already; it is not listed")
    for fault, chance in option.faults.items():
        if fault not in known:
            yield UnknownReferenceError(f"{where}.faults", "fault of this check called", fault)
        if not 0 <= chance <= 1:
            yield OutOfRangeError(f"{where}.faults.{fault}", f"{chance:g} is not between 0 and 1")
    total = sum(option.faults.values())
    if total > 1 + ROUNDING:
        yield TooLikelyError(f"{where}.faults", total)


def _lengths(check: Check, known_faults: Collection[str]) -> Iterator[EntryError]:
    for number in check.numbers:
        if not number.minimum_mm < number.maximum_mm:
            yield LimitsReversedError(
                f"{check.key}.{number.key}",
                f"the least length, {number.minimum_mm:g} mm, is not below the greatest, {number.maximum_mm:g} mm",
            )
    known_lengths = {number.key for number in check.numbers}
    for place, rule in enumerate(check.rules, 1):
        yield from _rule(f"{check.key}.rules[{place}]", rule, known_faults, known_lengths)


def _rule(
    where: str, rule: NumberRule, known_faults: Collection[str], known_lengths: Collection[str]
) -> Iterator[EntryError]:
    if rule.fault not in known_faults:
        yield UnknownReferenceError(f"{where}.fault", "fault of this check called", rule.fault)
    for name, value in (("field", rule.field), ("minus", rule.minus)):
        if value and value not in known_lengths:
            yield UnknownReferenceError(f"{where}.{name}", "length of this check called", value)
    if rule.at_most_mm is None and rule.at_least_mm is None:
        yield RuleWithoutLimitError(where)
    elif rule.at_most_mm is not None and rule.at_least_mm is not None and rule.at_least_mm > rule.at_most_mm:
        yield LimitsReversedError(
            where, f"no length is at least {rule.at_least_mm:g} and at most {rule.at_most_mm:g} mm"
        )


def _fault(where: str, fault: Fault, remedies: dict[str, Remedy]) -> Iterator[EntryError]:
    yield from _minutes(where, fault)
    yield from (UnknownReferenceError(where, "remedy", name) for name in fault.remedies if name not in remedies)
    if not fault.remedies:
        yield NoRemedyError(where)
    elif fault.hazard is not Hazard.NONE and _left_to_rider(fault, remedies):
        yield RiderOnlyHazardError(where)


def _minutes(where: str, fault: Fault) -> Iterator[EntryError]:
    if fault.minutes is None:
        return
    if not fault.minutes.median_min > 0:
        yield OutOfRangeError(f"{where}.minutes.median_min", f"{fault.minutes.median_min:g} minutes is no time at all")
    if fault.minutes.p90_min < fault.minutes.median_min:
        yield LimitsReversedError(f"{where}.minutes", "the 90th percentile is below the median")


def _left_to_rider(fault: Fault, remedies: dict[str, Remedy]) -> bool:
    helpers = {remedies[key].who for key in fault.remedies if key in remedies}
    return not helpers & {Who.WORKSHOP, Who.STUDIO}


def _condition(where: str, condition: Condition, checks: dict[str, Check]) -> Iterator[EntryError]:
    source, _, name = condition.subject.partition(".")
    if source == "bike" and name in BIKE_FACTS:
        allowed = set(BIKE_FACTS[name])
    elif source == "answer" and name in checks:
        allowed = {option.key for option in checks[name].options} | {COULD_NOT}
    else:
        what = {"bike": "bike fact", "answer": "check"}.get(source, "subject")
        yield UnknownReferenceError(f"{where}.subject", what, condition.subject)
        return
    for value in condition.among:
        if value not in allowed:
            yield UnknownReferenceError(f"{where}.among", f"value of {condition.subject}", value)


def _cycles(checks: dict[str, Check]) -> Iterator[EntryError]:
    waits = {key: sorted(_waits_for(check) & checks.keys()) for key, check in checks.items()}
    done: set[str] = set()
    for key in checks:
        yield from _walk(key, waits, (), done)


def _waits_for(check: Check) -> set[str]:
    subjects = (condition.subject.partition(".") for condition in check.conditions)
    return {name for source, _, name in subjects if source == "answer"}


def _walk(key: str, waits: dict[str, list[str]], path: tuple[str, ...], done: set[str]) -> Iterator[EntryError]:
    if key in path:
        yield ConditionCycleError((*path[path.index(key) :], key))
        return
    if key in done:
        return
    for other in waits[key]:
        yield from _walk(other, waits, (*path, key), done)
    done.add(key)
