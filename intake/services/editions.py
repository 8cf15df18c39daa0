"""Write, publish and restore the owner's editions of the catalogue; what is asked changes all at once or not at all."""

from collections.abc import Callable, Mapping
from hashlib import sha256
from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from intake.catalogue.loader import shipped_document
from intake.catalogue.overlay import effective_document, overlaid, usable
from intake.catalogue.schema import Catalogue
from intake.models import CatalogueEdition, CatalogueVersion, EditionState
from intake.selectors.catalogue import look_again, serving, words_of
from intake.selectors.editions import mark_of

Overlay = dict[str, Any]


class DraftChangedError(Exception):
    """Somebody else changed or published the draft after it was shown."""


class DraftOpenError(Exception):
    """A draft is being written already."""


class NothingChangedError(Exception):
    """The draft says what is in force."""


def change_draft(
    *, change: Callable[[Overlay], Overlay], by: AbstractBaseUser | None, key: str = "", seen: str | None = None
) -> CatalogueEdition:
    """Change the draft, which begins as what is in force; nothing is kept where the catalogue would not hold together.

    ``key`` is the check that is changed and ``seen`` the mark that its page showed.

    Raises
    ------
    DraftChangedError
        Where somebody has changed that check since.
    CatalogueError
        With everything that is wrong, each thing by its key.
    """
    with transaction.atomic():
        draft = _locked_draft(by)
        if seen is not None and mark_of(draft.overlay, key) != seen:
            raise DraftChangedError
        base = shipped_document()
        overlay = _tidy(change(draft.overlay))
        overlaid(base, overlay, draft.number)
        draft.overlay, draft.base_version = overlay, base["version"]
        draft.revision += 1
        draft.save(update_fields=["overlay", "base_version", "revision"])
    return draft


def _locked_draft(by: AbstractBaseUser | None) -> CatalogueEdition:
    in_force = CatalogueEdition.objects.filter(state=EditionState.IN_FORCE).first()
    defaults = _new_draft(in_force.overlay if in_force else {}, by)
    draft, _made = CatalogueEdition.objects.get_or_create(state=EditionState.DRAFT, defaults=defaults)
    return CatalogueEdition.objects.select_for_update().get(pk=draft.pk)


def _new_draft(overlay: Overlay, by: AbstractBaseUser | None) -> dict[str, Any]:
    last = CatalogueEdition.objects.aggregate(last=Max("number"))["last"] or 0
    return {
        "number": last + 1,
        "base_version": shipped_document()["version"],
        "overlay": overlay,
        "made_at": timezone.now(),
        "made_by": by,
    }


def _tidy(overlay: Mapping[str, Any]) -> Overlay:
    """Leave out the parts that say nothing."""
    tidy = {**overlay, "checks": {key: edit for key, edit in overlay.get("checks", {}).items() if edit}}
    return {name: value for name, value in tidy.items() if value}


def publish(*, number: int, revision: int, note: str, by: AbstractBaseUser | None) -> CatalogueEdition:
    """Put the draft in force as it was seen; this process asks it at once, the others within seconds.

    Raises
    ------
    DraftChangedError
        Where it was changed, published or discarded since; nothing of either is lost.
    NothingChangedError
        Where it says what is in force.
    CatalogueError
        Where the shipped catalogue has changed under it and it no longer fits.
    """
    with transaction.atomic():
        drafts = CatalogueEdition.objects.select_for_update().filter(state=EditionState.DRAFT)
        draft = drafts.filter(number=number, revision=revision).first()
        if draft is None:
            raise DraftChangedError
        _put_in_force(draft, note, by)
    look_again()
    return draft


def _put_in_force(draft: CatalogueEdition, note: str, by: AbstractBaseUser | None) -> None:
    before = CatalogueEdition.objects.filter(state=EditionState.IN_FORCE)
    if draft.overlay == (before.values_list("overlay", flat=True).first() or {}):
        raise NothingChangedError
    base = shipped_document()
    keep_version(overlaid(base, draft.overlay, draft.number), effective_document(base, draft.overlay, draft.number))
    before.update(state=EditionState.RETIRED)
    draft.state, draft.note, draft.base_version = EditionState.IN_FORCE, note, base["version"]
    draft.published_at, draft.published_by = timezone.now(), by
    draft.save()


def discard(*, number: int) -> None:
    """Throw the draft away; what is in force stays."""
    CatalogueEdition.objects.filter(state=EditionState.DRAFT, number=number).delete()


@transaction.atomic
def start_from(*, overlay: Overlay, by: AbstractBaseUser | None) -> CatalogueEdition:
    """Begin a draft from an earlier edition's changes, or from none, leaving out what the shipped catalogue no longer has.

    Raises
    ------
    DraftOpenError
        Where one is being written: it is published or discarded first.
    """
    defaults = _new_draft(usable(shipped_document(), overlay), by)
    draft, made = CatalogueEdition.objects.get_or_create(state=EditionState.DRAFT, defaults=defaults)
    if not made:
        raise DraftOpenError
    return draft


@transaction.atomic
def mend_draft(*, by: AbstractBaseUser | None) -> CatalogueEdition:
    """Take out of the draft, or of a copy of what is in force, the changes to what the shipped catalogue no longer has."""
    draft = _locked_draft(by)
    draft.overlay = usable(shipped_document(), draft.overlay)
    draft.revision += 1
    draft.save(update_fields=["overlay", "revision"])
    return draft


# ── Versions that were asked ─────────────────────────────────────────────────────────────────────────────────────────────


def keep_current_version() -> bool:
    """Keep the version that is asked now, so that its answers stay readable and it can serve where a later one is broken.

    One query where it is kept already. Return whether it was new.
    """
    now = serving()
    if now.troubles or _kept(now.catalogue).exists():
        return False
    overlay = CatalogueEdition.objects.filter(number=now.number).values_list("overlay", flat=True).first() or {}
    return keep_version(now.catalogue, effective_document(shipped_document(), overlay, now.number))


def keep_version(catalogue: Catalogue, document: Mapping[str, Any]) -> bool:
    """Keep one version of the catalogue; return whether it was new."""
    if _kept(catalogue).exists():
        return False
    values = {
        "digest": fingerprint(catalogue),
        "document": document,
        "words": words_of(catalogue),
        "kept_at": timezone.now(),
    }
    CatalogueVersion.objects.update_or_create(version=catalogue.version, defaults=values)
    return True


def _kept(catalogue: Catalogue) -> Any:
    return CatalogueVersion.objects.filter(version=catalogue.version, digest=fingerprint(catalogue))


def fingerprint(catalogue: Catalogue) -> str:
    """Return a mark that differs wherever anything in the catalogue differs."""
    return sha256(repr(catalogue).encode()).hexdigest()
