"""What can be wrong with the values that a triage is given; each error carries the offending value."""

from __future__ import annotations

from intake.catalogue.schema import BenchMinutes


class TriageError(ValueError):
    """Something that the triage was given cannot be meant."""


class UnknownOptionError(TriageError):
    """An answer chooses an option that its check does not offer."""

    def __init__(self, check: str, option: str) -> None:
        self.check, self.option = check, option
        super().__init__(f"“{option}” is not one of the answers to “{check}”.")


class UnknownLengthError(TriageError):
    """An answer gives a length that its check does not ask for."""

    def __init__(self, check: str, length: str) -> None:
        self.check, self.length = check, length
        super().__init__(f"“{check}” does not ask for a length called “{length}”.")


class LengthRefusedError(TriageError):
    """A length lies outside what its field can be; the message is the field's own refusal."""

    def __init__(self, length: str, value_mm: float, refusal: str) -> None:
        self.length, self.value_mm = length, value_mm
        super().__init__(refusal)


class ImpossibleProbabilityError(TriageError):
    """A probability is no number from 0 to 1, or exclusive faults add to more than 1."""

    def __init__(self, key: str, value: float) -> None:
        self.key, self.value = key, value
        super().__init__(f"The probability {value!r} for “{key}” is not between 0 and 1.")


class BenchMinutesError(TriageError):
    """Bench minutes whose median is not above zero, or whose 90th percentile lies below it."""

    def __init__(self, minutes: BenchMinutes) -> None:
        self.minutes = minutes
        super().__init__(
            f"Bench minutes need 0 < median ≤ 90th percentile, not {minutes.median_min!r} and {minutes.p90_min!r}."
        )


class SlotError(TriageError):
    """A slot without planned minutes, or with negative slack."""

    def __init__(self, planned_min: int, slack_min: int) -> None:
        self.planned_min, self.slack_min = planned_min, slack_min
        super().__init__(
            f"A slot needs planned minutes above 0 and slack of 0 or more, not {planned_min} and {slack_min}."
        )


class NoWorkingDayError(TriageError):
    """A studio that never opens within the years that were searched."""

    def __init__(self, searched_days: int) -> None:
        self.searched_days = searched_days
        super().__init__(f"There is no working day within {searched_days} days: check the opening days and closures.")


class LeadTimeError(TriageError):
    """A negative lead time."""

    def __init__(self, lead_days: int) -> None:
        self.lead_days = lead_days
        super().__init__(f"A lead time is 0 working days or more, not {lead_days}.")


class UnknownRemedyError(TriageError):
    """A fault names a remedy that the catalogue does not hold."""

    def __init__(self, fault: str, remedy: str) -> None:
        self.fault, self.remedy = fault, remedy
        super().__init__(f"The fault “{fault}” names the remedy “{remedy}”, which the catalogue does not hold.")


class ConditionCycleError(TriageError):
    """Checks that wait for one another's answers in a circle."""

    def __init__(self, checks: tuple[str, ...]) -> None:
        self.checks = checks
        super().__init__(f"These checks wait for one another: {' → '.join(checks)}.")


class ConditionSubjectError(TriageError):
    """A condition about something that is neither a fact of the bike nor an answer."""

    def __init__(self, subject: str) -> None:
        self.subject = subject
        super().__init__(f"A condition is about “bike.<fact>” or “answer.<check>”, not “{subject}”.")
