"""Editions of the owner's catalogue: the draft, the one in force, and those before."""

import json
import re
from collections.abc import Mapping
from hashlib import sha256
from typing import Any

from django.db.models import QuerySet
from django.utils.text import slugify

from intake.catalogue.overlay import OWN
from intake.models import CatalogueEdition, EditionState

LONGEST_SLUG = 40
KEYS = re.compile(rf'"({OWN}[a-z0-9_]+)"')


def draft_edition() -> CatalogueEdition | None:
    """Return the edition that is being written."""
    return CatalogueEdition.objects.select_related("made_by").filter(state=EditionState.DRAFT).first()


def edition_in_force() -> CatalogueEdition | None:
    """Return the edition that is asked; None where the catalogue stands as it is shipped."""
    return CatalogueEdition.objects.select_related("published_by").filter(state=EditionState.IN_FORCE).first()


def published_editions() -> QuerySet[CatalogueEdition]:
    """Return every edition that was ever asked, the newest first."""
    return CatalogueEdition.objects.exclude(state=EditionState.DRAFT).select_related("published_by")


def mark_of(overlay: Mapping[str, Any], key: str) -> str:
    """Return a short mark of what an overlay says about one check; it changes when somebody changes that."""
    own = [entry for entry in overlay.get("own_checks", []) if entry.get("key") == key]
    said = [overlay.get("checks", {}).get(key), key in overlay.get("off", []), own]
    return sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:16]


def new_own_key(title: str, also: set[str] | None = None) -> str:
    """Return a key for something of the studio's own, which no edition has used: what is retired keeps its key for its answers."""
    taken = set(also or ())
    for overlay in CatalogueEdition.objects.values_list("overlay", flat=True):
        taken |= set(KEYS.findall(json.dumps(overlay)))
    words = slugify(title).replace("-", "_").strip("_")[:LONGEST_SLUG].strip("_")
    stem = OWN + "_".join(part for part in words.split("_") if part) if words else OWN + "check"
    key, count = stem, 1
    while key in taken:
        count += 1
        key = f"{stem}_{count}"
    return key
