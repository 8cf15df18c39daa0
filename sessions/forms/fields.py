"""Form fields of the diary."""

from collections.abc import Iterable
from datetime import UTC, date, datetime

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from sessions.diary.errors import DiaryError
from sessions.diary.zones import in_utc

# No diary of ours holds other days; near the ends of the calendar a clock of another zone would leave it.
FIRST_DAY, LAST_DAY = date(2000, 1, 1), date(2199, 12, 31)


def utc_mark(moment: datetime) -> str:
    """Return an instant as it stands in addresses and forms.

    >>> utc_mark(datetime(2026, 3, 2, 9, 0, tzinfo=UTC))
    '2026-03-02T09:00Z'
    """
    return in_utc(moment).strftime("%Y-%m-%dT%H:%MZ")


class StartField(forms.CharField):
    """A start as one of our own links or forms names it: an ISO 8601 time with its distance from UTC."""

    widget = forms.HiddenInput
    default_error_messages = {
        "required": _("Choose a time."),
        "malformed": _("That is not one of the free times. Choose one from the list."),
    }

    def __init__(self, **kwargs: object) -> None:
        """Longer text than any time is refused unread."""
        super().__init__(max_length=40, **kwargs)

    def offer(self, choices: Iterable[tuple[str, str]]) -> None:
        """Become a list from which another start is chosen."""
        self.widget = forms.RadioSelect(choices=list(choices))
        self.widget.is_required = True

    def prepare_value(self, value: object) -> object:
        """Write an instant into the form as it is read again."""
        return utc_mark(value) if isinstance(value, datetime) else value

    def clean(self, value: object) -> datetime | None:
        """Return the instant in UTC."""
        text = super().clean(value)
        if not text:
            return None
        try:
            start = in_utc(datetime.fromisoformat(text)).astimezone(UTC)
        except (DiaryError, ValueError, OverflowError) as error:
            raise ValidationError(self.error_messages["malformed"], code="malformed") from error
        if not FIRST_DAY <= start.date() <= LAST_DAY:
            raise ValidationError(self.error_messages["malformed"], code="malformed")
        return start
