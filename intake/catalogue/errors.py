"""What can be wrong with a catalogue: one small error per kind, each with the key it is about and a readable sentence."""

from __future__ import annotations

from collections.abc import Iterable


class EntryError(Exception):
    """One thing that is wrong with a catalogue.

    ``key`` says where: the keys from the outside in, joined by dots, such as ``post_slides.stuck.rate``.
    """

    def __init__(self, key: str, sentence: str) -> None:
        super().__init__(f"{key}: {sentence}")
        self.key = key
        self.sentence = sentence


class CatalogueError(Exception):
    """A catalogue that cannot be used; ``problems`` holds everything that is wrong with it."""

    def __init__(self, problems: Iterable[EntryError]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class UnreadableError(EntryError):
    """The file is missing or is no TOML."""


class MissingFieldError(EntryError):
    """A field that must be there is not."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "this field is missing")


class UnknownFieldError(EntryError):
    """A field that the schema does not know, most often a slip of the pen."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "no such field is known; check the spelling")


class WrongValueError(EntryError):
    """A value of the wrong type, an empty text or list, or a key that is not in snake_case."""


class UnknownChoiceError(EntryError):
    """A value that is not one of the allowed words."""

    def __init__(self, key: str, value: object, allowed: Iterable[str]) -> None:
        super().__init__(key, f"“{value}” is not one of {', '.join(allowed)}")
        self.value = value


class UnknownAdjustmentError(UnknownChoiceError):
    """An effect on an adjustment that no session knows."""


class DuplicateKeyError(EntryError):
    """Two entries of one list carry the same key."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "this key is used more than once")


class OutOfRangeError(EntryError):
    """A probability outside 0 to 1, or a number of minutes or days that cannot be."""


class TooLikelyError(EntryError):
    """Faults of one check whose probabilities add to more than 1."""

    def __init__(self, key: str, total: float) -> None:
        super().__init__(key, f"the probabilities add to {total:g}, more than 1")
        self.total = total


class LimitsReversedError(EntryError):
    """A lower limit that is not below its upper limit."""


class UnknownReferenceError(EntryError):
    """A fault, remedy, body area, length, check or bike fact that is named and does not exist."""

    def __init__(self, key: str, what: str, name: str) -> None:
        super().__init__(key, f"there is no {what} “{name}”")
        self.name = name


class RuleWithoutLimitError(EntryError):
    """A rule on a length that gives no limit, and so could never find a fault."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "the rule needs at_most_mm or at_least_mm")


class ConditionCycleError(EntryError):
    """Checks that wait for each other's answers."""

    def __init__(self, cycle: tuple[str, ...]) -> None:
        super().__init__(cycle[0], f"these checks wait for each other: {' → '.join(cycle)}")
        self.cycle = cycle


class NoRemedyError(EntryError):
    """A fault that nobody is said to put right."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "the fault has no remedy")


class RiderOnlyHazardError(EntryError):
    """A fault that can hurt somebody and would be left to the rider alone."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "a fault that can hurt somebody needs a remedy by a workshop or the studio")


class DuplicateLinkError(EntryError):
    """The same body area linked twice to the same fault."""

    def __init__(self, key: str, area: str) -> None:
        super().__init__(key, f"“{area}” is linked to this fault more than once")
        self.area = area


class SidelessAreaError(EntryError):
    """A link that asks for the same side of a body area that has no sides."""

    def __init__(self, key: str, area: str) -> None:
        super().__init__(key, f"“{area}” has no left and right, so the link cannot ask for the same side")
        self.area = area


class UnreachableFaultError(EntryError):
    """A fault to which no answer and no rule leads."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "no answer and no rule leads to this fault")


class VanishedError(EntryError):
    """A change to something that the shipped catalogue does not have, or has no longer."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "the studio changed this, and the shipped catalogue does not have it any more")


class SafetyCheckError(EntryError):
    """A check that looks for what can hurt somebody, switched off."""

    def __init__(self, key: str) -> None:
        super().__init__(
            key, "this check looks for something that can hurt a rider; it can be reworded, not switched off"
        )


class NeededByOthersError(EntryError):
    """A check switched off on whose answer others depend."""

    def __init__(self, key: str, needed_by: Iterable[str]) -> None:
        self.needed_by = tuple(needed_by)
        super().__init__(
            key, f"this check is switched off, and these depend on its answer: {', '.join(self.needed_by)}"
        )


class ExposureSourceError(EntryError):
    """An exposure of which nothing says how frequent it is, or two things do."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "an exposure needs either a share, or a check with the share given each of its answers")


class ExposureCircleError(EntryError):
    """An exposure that makes faults likelier in the very check that speaks of it."""

    def __init__(self, key: str, check: str) -> None:
        super().__init__(key, f"“{check}” speaks of this exposure, so its own faults cannot depend on it")
        self.check = check


class ExposedLengthError(EntryError):
    """A fault that depends on an exposure in a check that lengths decide."""

    def __init__(self, key: str) -> None:
        super().__init__(key, "lengths decide this check, so its faults cannot depend on an exposure")


class DuplicateMootError(EntryError):
    """The same fault is said twice to make the same other one moot."""

    def __init__(self, key: str, spared: str) -> None:
        super().__init__(key, f"“{spared}” is named more than once")
        self.spared = spared


class MootCycleError(EntryError):
    """Faults that make each other moot, so that together they would cost nothing."""

    def __init__(self, cycle: tuple[str, ...]) -> None:
        super().__init__(f"moots.{cycle[0]}", f"these faults make each other moot: {' → '.join(cycle)}")
        self.cycle = cycle


class TooManyOutcomesError(EntryError):
    """Checks or exposures that hang together in more ways than can be reckoned with exactly."""

    def __init__(self, keys: Iterable[str], outcomes: int) -> None:
        self.keys, self.outcomes = tuple(keys), outcomes
        super().__init__(self.keys[0], f"too much hangs together: {', '.join(self.keys)} have {outcomes} outcomes")
