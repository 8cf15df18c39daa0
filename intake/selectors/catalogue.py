"""The catalogue that is asked now: the shipped one with the owner's edition over it, or the last that was good.

Every process keeps it in memory and looks every few seconds, by one small query, whether another edition is in force. Whatever is
broken, in the file or in the edition, is told at the desk; riders go on with the newest version that was ever asked.
"""

import logging
import time
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.conf import settings

from intake.catalogue.errors import CatalogueError, EntryError
from intake.catalogue.loader import load_catalogue, parse_catalogue, shipped_document
from intake.catalogue.overlay import overlaid
from intake.catalogue.schema import Catalogue
from intake.models import CatalogueEdition, CatalogueVersion, EditionState

logger = logging.getLogger(__name__)

MOST_TRIED = 5


@dataclass(frozen=True)
class Serving:
    """What is asked now, the number of the edition in force (0 for none), and what is wrong with it where another has to serve."""

    catalogue: Catalogue
    number: int
    troubles: tuple[EntryError, ...] = ()


@dataclass
class _Kept:
    """What this process serves and when it last looked; the clock only ever goes forward."""

    serving: Serving | None = None
    looked_at: float = 0.0


_process = _Kept()
_request: ContextVar[list[Serving] | None] = ContextVar("catalogue_of_this_request", default=None)


def current_catalogue() -> Catalogue:
    """Return the catalogue that is asked now: no query, or one every few seconds."""
    return serving().catalogue


def serving() -> Serving:
    """Return the catalogue that is asked now and how it stands; within one request always the same."""
    held = _request.get()
    if held:
        return held[0]
    found = _followed()
    if held is not None:
        held.append(found)
    return found


@contextmanager
def one_catalogue() -> Iterator[None]:
    """Let everything inside see the same catalogue, so that no answer names another version than its question."""
    token = _request.set([])
    try:
        yield
    finally:
        _request.reset(token)


def look_again() -> Serving:
    """Look at once which edition is in force, and serve it from now on: one query, two where it is another."""
    found = _looked(_process.serving)
    _process.serving, _process.looked_at = found, time.monotonic()
    held = _request.get()
    if held is not None:
        held[:] = [found]
    return found


def forget() -> None:
    """Begin as a new process does."""
    _process.serving, _process.looked_at = None, 0.0


def _followed() -> Serving:
    """Return what this process serves, looking where the last look is too old; ``None`` seconds means never to look."""
    lasts_s = settings.CATALOGUE_FOLLOW_S
    if lasts_s is None:
        return _process.serving or Serving(load_catalogue(), 0)
    if _process.serving is None or time.monotonic() - _process.looked_at >= lasts_s:
        return look_again()
    return _process.serving


def _looked(before: Serving | None) -> Serving:
    in_force = CatalogueEdition.objects.filter(state=EditionState.IN_FORCE)
    number = in_force.values_list("number", flat=True).first() or 0
    if before is not None and before.number == number:
        return before
    overlay = in_force.values_list("overlay", flat=True).filter(number=number).first() if number else {}
    return served(number, overlay)


def served(number: int, overlay: object) -> Serving:
    """Return what is asked while this edition is in force.

    Raises
    ------
    CatalogueError
        Where neither the edition nor the shipped file can be used and no version was ever kept.
    """
    try:
        catalogue = overlaid(shipped_document(), overlay, number) if number else load_catalogue()
    except CatalogueError as error:
        return _last_good(number, error)
    return Serving(catalogue, number)


def _last_good(number: int, error: CatalogueError) -> Serving:
    logger.error("The catalogue of checks cannot be used as it is: %s", error)
    for document in CatalogueVersion.objects.values_list("document", flat=True)[:MOST_TRIED]:
        try:
            return Serving(parse_catalogue(document), number, error.problems)
        except CatalogueError:
            continue
    try:
        return Serving(load_catalogue(), number, error.problems)
    except CatalogueError:
        raise error from None


# ── Versions that were asked ─────────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class CheckWords:
    """How one check read in some version: enough to read its answer."""

    title: str
    question: str
    options: Mapping[str, str]
    lengths: Mapping[str, str]
    faults: Mapping[str, str]


def words_of(catalogue: Catalogue) -> dict[str, dict[str, object]]:
    """Return what is kept of a catalogue so that its answers stay readable."""
    return {
        check.key: {
            "title": check.title,
            "question": check.question,
            "options": {option.key: option.label for option in check.options}
            | ({"could_not": check.could_not} if check.could_not else {}),
            "lengths": {number.key: number.label for number in check.numbers},
            "faults": {fault.key: fault.title for fault in check.faults},
        }
        for check in catalogue.checks
    }


def words_of_versions(versions: Collection[str]) -> dict[str, dict[str, CheckWords]]:
    """Return the words of these versions by version and check, as far as they were kept: one query, none for no version."""
    if not versions:
        return {}
    kept = CatalogueVersion.objects.filter(version__in=versions).values_list("version", "words")
    return {version: {key: CheckWords(**each) for key, each in words.items()} for version, words in kept}


def every_title() -> dict[str, str]:
    """Return the titles of all checks and faults that were ever asked, by their keys; the newest words win: one query."""
    titles: dict[str, str] = {}
    for words in CatalogueVersion.objects.order_by("kept_at", "pk").values_list("words", flat=True):
        for key, check in words.items():
            titles[key] = check["title"]
            titles |= {f"{key}.{fault}": title for fault, title in check["faults"].items()}
    return titles | current_catalogue().titles()
