"""What the diary's services refuse, each with what was refused; the web edge turns them into sentences beside a field."""

from datetime import datetime
from enum import StrEnum

from django.utils.translation import gettext as _


class DiaryRefusal(Exception):  # noqa: N818 - a refusal is what the desk calls it
    """Base of everything that the diary refuses; ``str()`` is a sentence for whoever asked."""


class RedFlagsUnreadError(DiaryRefusal):
    """A red flag that nobody has acknowledged yet."""

    def __str__(self) -> str:
        """Say what comes first."""
        return _("Read the red flags first and note what was agreed; then the session can go ahead.")


class StartTakenError(DiaryRefusal):
    """Somebody else holds the fitter or the bay for part of that time."""

    def __init__(self, start: datetime) -> None:
        """Keep the start that was wanted."""
        super().__init__(start)
        self.start = start

    def __str__(self) -> str:
        """Say it kindly."""
        return _("Somebody else was a moment faster: that time is taken.")


class WhyNot(StrEnum):
    """Why a time is not among the starts on offer, whoever is booked."""

    PAST = "past"
    NOTICE = "notice"
    HORIZON = "horizon"
    HOURS = "hours"


class StartNotOfferedError(DiaryRefusal):
    """A time at which the studio starts no session of this length."""

    def __init__(self, start: datetime, why: WhyNot) -> None:
        """Keep the start and the reason."""
        super().__init__(start, why)
        self.start, self.why = start, why

    def __str__(self) -> str:
        """Give the reason in words."""
        return {
            WhyNot.PAST: _("That time has passed."),
            WhyNot.NOTICE: _("That time is too soon: the studio needs time to prepare."),
            WhyNot.HORIZON: _("The studio does not take bookings that far ahead yet."),
            WhyNot.HOURS: _("The studio starts no session of this length at that time."),
        }[self.why]


class NotYetMissedError(DiaryRefusal):
    """Nobody has failed to come before the time has come."""

    def __init__(self, start: datetime) -> None:
        """Keep when the session begins."""
        super().__init__(start)
        self.start = start

    def __str__(self) -> str:
        """Say so."""
        return _("This session has not begun yet, so nobody has missed it. It may have been moved in the meantime.")


class ExtensionError(DiaryRefusal):
    """More minutes than the day allows after a session, or no sensible number of them."""

    def __init__(self, asked_min: int, possible_min: int) -> None:
        """Keep what was asked and what is possible."""
        super().__init__(asked_min, possible_min)
        self.asked_min, self.possible_min = asked_min, possible_min

    def __str__(self) -> str:
        """Say how much there is."""
        if not self.possible_min:
            return _("The session cannot be made longer: what follows it is taken.")
        return _("The session can grow by 5 to %(possible)d minutes, in steps of five.") % {
            "possible": self.possible_min
        }


class RequestUsedError(DiaryRefusal):
    """The form that was sent has already booked something else."""

    def __init__(self, request_key: str) -> None:
        """Keep the form's key."""
        super().__init__(request_key)
        self.request_key = request_key

    def __str__(self) -> str:
        """Say how to go on."""
        return _("This form has already made a booking. If you want another one, check the details and send it again.")
