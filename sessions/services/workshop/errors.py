"""What cannot be done with a job sheet, each with a sentence for whoever tried."""

from django.utils.translation import gettext as _


class JobRefusal(Exception):  # noqa: N818 - a refusal is what the desk calls it
    """Base of what cannot be done; ``str()`` is the sentence."""


class JobOverError(JobRefusal):
    """The session has ended or was cancelled."""

    def __str__(self) -> str:
        """Say so."""
        return _("This session is over or was cancelled, so there is nothing left to do for a workshop.")


class LineGoneError(JobRefusal):
    """A line that the triage no longer shows."""

    def __init__(self, keys: tuple[str, ...]) -> None:
        """Keep what was asked for."""
        super().__init__(keys)
        self.keys = keys

    def __str__(self) -> str:
        """Say how to go on."""
        return _("Some of what was chosen is not among the findings any more. Look at the list as it is now.")


class TooManySheetsError(JobRefusal):
    """More sheets than any bike needs."""

    def __init__(self, most: int) -> None:
        """Keep the limit."""
        super().__init__(most)
        self.most = most

    def __str__(self) -> str:
        """Name the limit."""
        return _("There are %(most)d job sheets for this session already. Use one of them, or ask the studio.") % {
            "most": self.most
        }


class SheetClosedError(JobRefusal):
    """A sheet whose link is closed: nothing is mailed about it."""

    def __str__(self) -> str:
        """Say how to go on."""
        return _("The link of this job sheet is closed. Make a new link first.")


class NoAddressError(JobRefusal):
    """A workshop without an e-mail address."""

    def __str__(self) -> str:
        """Say how to go on."""
        return _("No e-mail address is known for this workshop. Print the sheet, or hand over its link.")
