"""Times to choose: the one that a link or a form names, and others where it cannot be had."""

from collections.abc import Iterable
from datetime import datetime
from zoneinfo import ZoneInfo

from django import forms
from django.utils.formats import date_format

from sessions.diary.free_starts import FreeStart
from sessions.forms.fields import StartField, utc_mark


class StartForm(forms.Form):
    """The start that a link names."""

    start = StartField()


class StartMixin:
    """A form with a ``start``, of which another can be chosen without typing anything again."""

    def chosen_start(self) -> datetime | None:
        """Return the start that the form stands for, None where it has to be chosen anew."""
        return self.cleaned_data.get("start") if self.is_bound else self.initial.get("start")

    def start_refused(self, refusal: Exception) -> None:
        """Put what the diary said beside the start."""
        self.add_error("start", str(refusal))

    def offer(self, starts: Iterable[FreeStart], zone: ZoneInfo) -> None:
        """Let one of these be chosen instead, each as the studio's clock shows it."""
        self.fields["start"].offer((utc_mark(each.start_utc), start_words(each.start_utc, zone)) for each in starts)


def start_words(start: datetime, zone: ZoneInfo) -> str:
    """Return a start in words, by the clock of a zone."""
    return date_format(start.astimezone(zone), "l j F, H:i T")
