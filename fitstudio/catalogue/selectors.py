"""What an owner's pages about the catalogue read."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from intake.catalogue.changes import Change, changes
from intake.catalogue.errors import CatalogueError, EntryError
from intake.catalogue.loader import parse_catalogue, shipped_document
from intake.catalogue.overlay import OWN, effective_document, overlaid, usable, watches_for_harm
from intake.catalogue.schema import Catalogue, Check, Group
from intake.edge.words import GROUP_LABELS
from intake.models import CatalogueEdition
from intake.selectors.editions import draft_edition, edition_in_force, mark_of, published_editions

Document = Mapping[str, Any]


@dataclass(frozen=True)
class CatalogueRow:
    """One check in the owner's list."""

    check: Check
    is_off: bool
    is_edited: bool
    is_safety: bool

    @property
    def is_own(self) -> bool:
        """Return whether the studio made it."""
        return self.check.key.startswith(OWN)

    @property
    def rate_pct(self) -> int:
        """Return the share of riders with any of its faults [%]."""
        return round(100 * sum(fault.rate for fault in self.check.faults))

    @property
    def minutes(self) -> str:
        """Return the usual minutes of its faults, the least and the greatest."""
        usual = sorted(fault.minutes.median_min for fault in self.check.faults if fault.minutes)
        if not usual:
            return ""
        return f"{usual[0]:g}" if usual[0] == usual[-1] else f"{usual[0]:g}–{usual[-1]:g}"


@dataclass(frozen=True)
class OwnersView:
    """The catalogue as the owner works on it: the draft where there is one, else what is in force, with all checks on."""

    base: Document
    draft: CatalogueEdition | None
    in_force: CatalogueEdition | None
    overlay: dict[str, Any]
    troubles: tuple[EntryError, ...]
    everything: Catalogue
    document: Document = field(repr=False)

    @property
    def groups(self) -> list[tuple[str, list[CatalogueRow]]]:
        """Return the rows part by part."""
        parts = [
            (str(GROUP_LABELS[group]), [self.row(check) for check in self.everything.checks if check.group is group])
            for group in Group
        ]
        return [part for part in parts if part[1]]

    def row(self, check: Check) -> CatalogueRow:
        """Return one check with its marks."""
        return CatalogueRow(
            check=check,
            is_off=check.key in self.overlay.get("off", []),
            is_edited=check.key in self.overlay.get("checks", {}),
            is_safety=not check.key.startswith(OWN) and watches_for_harm(self.raw(check.key)),
        )

    def raw(self, key: str) -> Document:
        """Return a check as the document has it; KeyError where there is none."""
        return _by_key(self.document["checks"], key)

    def shipped(self, key: str) -> Document:
        """Return a check as it is shipped; KeyError where there is none."""
        return _by_key(self.base["checks"], key)

    def mark(self, key: str) -> str:
        """Return the mark by which a page knows whether somebody changed the check since."""
        return mark_of(self.overlay, key)

    @property
    def changes(self) -> tuple[Change, ...]:
        """Return what the draft changes of what is in force."""
        return changes(self.base, usable(self.base, self.in_force.overlay if self.in_force else {}), self.overlay)


def _by_key(entries: list[Document], key: str) -> Document:
    for entry in entries:
        if entry["key"] == key:
            return entry
    raise KeyError(key)


def owners_view() -> OwnersView:
    """Read draft and edition in force: two queries."""
    base, draft, in_force = shipped_document(), draft_edition(), edition_in_force()
    said = draft or in_force
    overlay = said.overlay if said else {}
    troubles: tuple[EntryError, ...] = ()
    try:
        overlaid(base, overlay)
    except CatalogueError as error:
        troubles = error.problems
        overlay = usable(base, overlay)
    document = effective_document(base, {name: value for name, value in overlay.items() if name != "off"})
    return OwnersView(base, draft, in_force, overlay, troubles, parse_catalogue(document), document)


@dataclass(frozen=True)
class EditionShown:
    """A published edition with what it changed of the one before."""

    edition: CatalogueEdition
    changes: tuple[Change, ...]


def editions_shown() -> list[EditionShown]:
    """Return every published edition, the newest first: one query."""
    base, editions = shipped_document(), list(published_editions())
    overlays = [*(usable(base, edition.overlay) for edition in editions), {}]
    return [
        EditionShown(edition, changes(base, overlays[place + 1], overlays[place]))
        for place, edition in enumerate(editions)
    ]
