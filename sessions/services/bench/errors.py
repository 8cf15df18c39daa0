"""What the bench's services refuse, each with what was refused."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from sessions.safety import SafetyLine, Text


class FitRefusal(Exception):  # noqa: N818 - a refusal is what the bench calls it
    """Base of everything that the bench refuses; ``str()`` is a sentence for the fitter."""


class RecordClosedError(FitRefusal):
    """The record is closed, or its session does not take place: nothing in it changes."""

    def __str__(self) -> str:
        """Say what to do."""
        return _("This record is closed. Open it again first if something is to be put right.")


class RecordNotEmptyError(FitRefusal):
    """A start cannot be taken back once something was recorded."""

    def __str__(self) -> str:
        """Say why."""
        return _("Something has been recorded already, so the start stays as it is.")


class SafetyOpenError(FitRefusal):
    """The closing list is not settled; ``lines`` are the open ones with their reasons."""

    def __init__(self, lines: tuple[tuple[SafetyLine, Text], ...]) -> None:
        """Keep the lines."""
        super().__init__(lines)
        self.lines = lines

    def __str__(self) -> str:
        """Say how many there are."""
        count = len(self.lines)
        told = ngettext(
            "The record stays open: %(count)d line of the safety list is not settled.",
            "The record stays open: %(count)d lines of the safety list are not settled.",
            count,
        )
        return told % {"count": count}


class MinutesNotedError(FitRefusal):
    """Minutes are noted, so it cannot be that nothing ate time."""

    def __str__(self) -> str:
        """Say what to do."""
        return _("Minutes are noted already. Clear them first if nothing ate time.")


class RowGoneError(FitRefusal):
    """The row was taken out on another device meanwhile."""

    def __str__(self) -> str:
        """Say so."""
        return _("This row was taken out on another device meanwhile. If it is still needed, add it again.")


class TextConflictError(FitRefusal):
    """A text was changed elsewhere since the page was shown; ``theirs`` is what stands there now."""

    def __init__(self, theirs: str) -> None:
        """Keep the other text."""
        super().__init__(theirs)
        self.theirs = theirs

    def __str__(self) -> str:
        """Show it, so that both can be joined."""
        return _(
            "This was changed on another device meanwhile. There it says: “%(theirs)s”. Join both and save again."
        ) % {"theirs": self.theirs}
