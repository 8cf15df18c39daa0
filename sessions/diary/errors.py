"""What the diary refuses, each refusal with the value it refused and a sentence for the person who typed it."""

from __future__ import annotations

from datetime import date, datetime, time


class DiaryError(ValueError):
    """Base of every refusal of the diary; ``args`` are the offending values, ``str()`` is a plain sentence."""


class NaiveTimeError(DiaryError):
    """A time came without its zone."""

    def __init__(self, value: datetime) -> None:
        super().__init__(value)
        self.value = value

    def __str__(self) -> str:
        return f"{self.value:%Y-%m-%d %H:%M} has no time zone."


class ZonedWallTimeError(DiaryError):
    """A reading of a wall clock came with a zone, which would be applied twice."""

    def __init__(self, value: datetime | time) -> None:
        super().__init__(value)
        self.value = value

    def __str__(self) -> str:
        return f"{self.value.isoformat()} already carries a time zone; give the time as the wall clock shows it."


class CalendarRangeError(DiaryError):
    """A date or time lies where the calendar cannot be reckoned with."""

    def __init__(self, value: date) -> None:
        super().__init__(value)
        self.value = value

    def __str__(self) -> str:
        return f"{self.value.isoformat()} is too far from today for the diary."


class UnknownZoneError(DiaryError):
    """No such zone in the IANA time-zone database."""

    def __init__(self, value: str) -> None:
        super().__init__(value)
        self.value = value

    def __str__(self) -> str:
        return f"{self.value!r} is not a time zone such as Europe/London."


class SkippedTimeError(DiaryError):
    """The wall clock jumps over this time when the clocks go forward."""

    def __init__(self, value: datetime, resumes: datetime) -> None:
        super().__init__(value, resumes)
        self.value = value
        self.resumes = resumes

    def __str__(self) -> str:
        return (
            f"{self.value:%H:%M} does not happen on {self.value:%Y-%m-%d}: the clocks go forward "
            f"and continue at {self.resumes:%H:%M}."
        )


class EndBeforeStartError(DiaryError):
    """A stretch of time ends at or before its start."""

    def __init__(self, start: datetime, end: datetime) -> None:
        super().__init__(start, end)
        self.start = start
        self.end = end

    def __str__(self) -> str:
        return f"The end, {self.end:%Y-%m-%d %H:%M}, must be later than the start, {self.start:%Y-%m-%d %H:%M}."


class BackwardDatesError(DiaryError):
    """A range of dates whose last day comes before its first."""

    def __init__(self, first_day: date, last_day: date) -> None:
        super().__init__(first_day, last_day)
        self.first_day = first_day
        self.last_day = last_day

    def __str__(self) -> str:
        return f"The last day, {self.last_day.isoformat()}, comes before the first, {self.first_day.isoformat()}."


class OffGridError(DiaryError):
    """A time that is not a whole multiple of five minutes."""

    def __init__(self, value: datetime | time) -> None:
        super().__init__(value)
        self.value = value

    def __str__(self) -> str:
        return f"{self.value.isoformat()} is not on a five-minute mark; use times such as 09:00, 09:05 or 09:10."


class LengthError(DiaryError):
    """A length in minutes that is not a multiple of five, is negative, empty, or longer than a day."""

    def __init__(self, name: str, minutes: int) -> None:
        super().__init__(name, minutes)
        self.name = name
        self.minutes = minutes

    def __str__(self) -> str:
        return f"{self.name}: {self.minutes} minutes will not do; use a multiple of 5 that fits into one day."


class UnknownWeekdayError(DiaryError):
    """A weekday outside 0 (Monday) to 6 (Sunday)."""

    def __init__(self, value: int) -> None:
        super().__init__(value)
        self.value = value

    def __str__(self) -> str:
        return f"{self.value} is not a weekday; Monday is 0 and Sunday is 6."


class HoursCrossMidnightError(DiaryError):
    """Opening hours that close on the next day."""

    def __init__(self, opens: time, closes: time) -> None:
        super().__init__(opens, closes)
        self.opens = opens
        self.closes = closes

    def __str__(self) -> str:
        return f"Hours from {self.opens:%H:%M} to {self.closes:%H:%M} run past midnight; close at 00:00."


class EmptyHoursError(DiaryError):
    """Opening hours that close when they open."""

    def __init__(self, value: time) -> None:
        super().__init__(value)
        self.value = value

    def __str__(self) -> str:
        return f"Hours that open and close at {self.value:%H:%M} are empty; leave the day out to keep it closed."


class OverlappingHoursError(DiaryError):
    """Two stretches of the same weekday's hours overlap."""

    def __init__(self, opens: time, closes: time) -> None:
        super().__init__(opens, closes)
        self.opens = opens
        self.closes = closes

    def __str__(self) -> str:
        return (
            f"The day is still open at {self.opens:%H:%M}, where other hours begin; it closes at {self.closes:%H:%M}."
        )


class MoveNotAllowedError(DiaryError):
    """A session cannot go from this state to that one; ``from_state`` is None for a session not yet made."""

    def __init__(self, from_state: str | None, to_state: str) -> None:
        super().__init__(from_state, to_state)
        self.from_state = from_state
        self.to_state = to_state

    def __str__(self) -> str:
        to_words = self.to_state.replace("_", " ")
        if self.from_state is None:
            return f"A session cannot begin as “{to_words}”."
        return f"A session cannot go from “{self.from_state.replace('_', ' ')}” to “{to_words}”."
