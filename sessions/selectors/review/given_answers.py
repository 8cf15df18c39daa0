"""What was answered and decided about one session's checks, as the desk reads it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from intake.catalogue.schema import Catalogue, Check
from intake.edge.words import answer_labels, answer_words
from intake.models import CheckAnswer, FindingDecision
from intake.triage.answers import BikeFacts
from intake.triage.conditions import known_answer
from sessions.selectors.review.earlier_answers import EarlierWords
from sessions.selectors.review.words import staff_words


@dataclass(frozen=True)
class GivenAnswer:
    """What was answered to a check, in the words of the catalogue, by whom and when.

    ``at`` is empty where the bike's own record answers. ``older_version`` names the catalogue that was answered, where it is not
    the present one.
    """

    words: str
    by: str = ""
    at: datetime | None = None
    note: str = ""
    older_version: str = ""


@dataclass(frozen=True)
class Record:
    """The rows behind the cards: answers by check, decisions by key with the newest first, and what is known of the bike."""

    catalogue: Catalogue
    bike: BikeFacts
    answers: Mapping[str, CheckAnswer]
    decisions: Mapping[str, tuple[FindingDecision, ...]]
    unit: str
    earlier: EarlierWords

    def answer(self, check: Check) -> GivenAnswer | None:
        """Return what was answered to a check, by the bike's own record or by somebody."""
        known = known_answer(check, self.bike)
        if known is not None:
            label = next(option.label for option in check.options if option.key == known.option)
            return GivenAnswer(words=label, by=_("known of the bike"))
        row = self.answers.get(check.key)
        return self._said(check, row) if row else None

    def _said(self, check: Check, row: CheckAnswer) -> GivenAnswer:
        by = staff_words(row.answered_by) if row.answered_by_id else _("the rider")
        older = "" if row.catalogue_version == self.catalogue.version else row.catalogue_version
        words = self._as_answered(check, row) if older else answer_words(check, row, self.unit)
        return GivenAnswer(words or row.option, by, row.answered_at, row.note, older)

    def _as_answered(self, check: Check, row: CheckAnswer) -> str:
        """Return an answer of an earlier version in the words that the rider chose, as far as these were kept."""
        today, then = answer_words(check, row, self.unit), self.earlier.label(row)
        now = answer_labels(check).get(row.option, "")
        return f"{then}{today.removeprefix(now)}" if then else today

    def in_force(self, key: str) -> FindingDecision | None:
        """Return the decision about a finding or a check that holds, None where there is none or it was taken back."""
        latest = next(iter(self.decisions.get(key, ())), None)
        return latest if latest is not None and latest.ruling else None


def slug_of(key: str) -> str:
    """Return a finding's or a check's key as part of an id.

    >>> slug_of("post_slides.stuck")
    'post_slides-stuck'
    """
    return key.replace(".", "-")
