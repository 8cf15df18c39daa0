"""What cannot be learned from or judged; each error carries the offending value."""

from __future__ import annotations


class ExperienceError(ValueError):
    """Something that the learning was given cannot be meant."""


class PriorWeightError(ExperienceError):
    """A prior that weighs nothing, or without end."""

    def __init__(self, weight: float) -> None:
        self.weight = weight
        super().__init__(f"A prior must weigh more than nothing and have an end, not {weight!r}.")


class PriorRateError(ExperienceError):
    """A starting rate that is no share."""

    def __init__(self, rate: float) -> None:
        self.rate = rate
        super().__init__(f"A starting rate lies between 0 and 1, not {rate!r}.")


class CountsError(ExperienceError):
    """Counts that cannot be: fewer than none, or more faults than sessions."""

    def __init__(self, seen: float, faults: float) -> None:
        self.seen, self.faults = seen, faults
        super().__init__(f"There cannot be {faults!r} faults in {seen!r} sessions.")


class LostMinutesError(ExperienceError):
    """Minutes of which no logarithm can be taken, or that are taken away though they were never added."""

    def __init__(self, minutes: float) -> None:
        self.minutes = minutes
        super().__init__(f"These minutes cannot be learned from: {minutes!r}.")


class JudgedForecastError(ExperienceError):
    """A forecast that is no distribution, a chance that is none, or an outcome that cannot be."""

    def __init__(self, what: str, value: object) -> None:
        self.what, self.value = what, value
        super().__init__(f"This {what} cannot be judged: {value!r}.")
