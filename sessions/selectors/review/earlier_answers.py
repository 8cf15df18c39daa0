"""Answers to questions that are asked differently today, or not at all, in the words in which they were given."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from intake.catalogue.schema import COULD_NOT, Catalogue
from intake.edge.words import COULD_NOT_LABEL
from intake.models import CheckAnswer
from intake.selectors.catalogue import CheckWords, words_of_versions


@dataclass(frozen=True)
class EarlierAnswer:
    """An answer that the present catalogue has no words for."""

    title: str
    question: str
    words: str
    at: datetime
    version: str
    note: str


@dataclass(frozen=True)
class EarlierWords:
    """The words of the versions under which answers were given, where these are not the present one."""

    versions: Mapping[str, Mapping[str, CheckWords]]

    def of(self, row: CheckAnswer) -> CheckWords | None:
        """Return how the check read when it was answered, None where its version was not kept."""
        return self.versions.get(row.catalogue_version, {}).get(row.check_key)

    def label(self, row: CheckAnswer) -> str:
        """Return the chosen answer in its own words, empty where they are not known."""
        words = self.of(row)
        if words is None:
            return ""
        return words.options.get(row.option, str(COULD_NOT_LABEL) if row.option == COULD_NOT else "")


def earlier_words(rows: Iterable[CheckAnswer], catalogue: Catalogue) -> EarlierWords:
    """Read the words of every older version among these answers: one query, none where all are of the present one."""
    return EarlierWords(words_of_versions({row.catalogue_version for row in rows} - {catalogue.version}))


def earlier_answers(
    answers: Mapping[str, CheckAnswer], catalogue: Catalogue, words: EarlierWords
) -> tuple[EarlierAnswer, ...]:
    """Return the answers to checks that the present catalogue does not ask any more."""
    asked = {check.key for check in catalogue.checks}
    return tuple(_earlier(row, words) for key, row in answers.items() if key not in asked)


def _earlier(row: CheckAnswer, words: EarlierWords) -> EarlierAnswer:
    check = words.of(row)
    lengths = [
        f"{check.lengths.get(key, key) if check else key} {mm:g} mm" for key, mm in row.readable_lengths_mm().items()
    ]
    said = "; ".join(part for part in (words.label(row) or row.option, *lengths) if part)
    return EarlierAnswer(
        title=check.title if check else row.check_key,
        question=check.question if check else "",
        words=said or _("no answer"),
        at=row.answered_at,
        version=row.catalogue_version,
        note=row.note,
    )
