"""What differs between two overlays of the same catalogue, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from intake.catalogue.overlay import Document, effective_document, without_misfits

NAMES = {
    "title": "title",
    "question": "question",
    "why": "why it is asked",
    "steps": "steps",
    "tools": "tools",
    "caution": "caution",
    "could_not": "words for “could not”",
    "home_min": "minutes at home",
    "group": "part of the list",
    "kinds": "kinds of bike",
    "label": "words of the answer",
    "faults": "what the answer means",
    "rider_text": "text for the rider",
    "rate": "share of riders",
    "minutes": "minutes at the bench",
    "effects": "effect on the session",
    "hazard": "danger",
    "unreliable": "falsifies readings",
    "remedies": "remedies",
}


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that was changed about a check; ``before`` and ``after`` are empty where there was, or is, nothing."""

    key: str
    title: str
    what: str
    before: str = ""
    after: str = ""


def changes(base: Document, before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Change, ...]:
    """Return how the checks of one overlay differ from those of another, in the order of the catalogue.

    What the shipped catalogue no longer has is left out of both.

    Raises
    ------
    CatalogueError
        Where one of them is no overlay.
    """
    old, new = _checks(base, before), _checks(base, after)
    off_before, off_after = set(before.get("off", [])), set(after.get("off", []))
    found: list[Change] = []
    for key in dict.fromkeys((*old, *new)):
        title = str((new.get(key) or old[key])["title"])
        if key not in old or key not in new:
            found.append(Change(key, title, "added by the studio" if key in new else "taken out"))
            continue
        if (key in off_before) != (key in off_after):
            found.append(Change(key, title, "switched off" if key in off_after else "switched on"))
        found.extend(_differences(key, title, old[key], new[key]))
    return tuple(found)


def _checks(base: Document, overlay: Mapping[str, Any]) -> dict[str, Document]:
    everything_on = {name: value for name, value in without_misfits(base, overlay).items() if name != "off"}
    return {check["key"]: check for check in effective_document(base, everything_on)["checks"]}


def _differences(key: str, title: str, old: Document, new: Document) -> Iterator[Change]:
    was, now = dict(_flat(old)), dict(_flat(new))
    for what in dict.fromkeys((*was, *now)):
        if was.get(what) != now.get(what):
            yield Change(key, title, what, was.get(what, ""), now.get(what, ""))


def _flat(check: Document) -> Iterator[tuple[str, str]]:
    """Yield everything that an owner can change, named in words."""
    for name, value in check.items():
        if name == "options":
            for option in value:
                yield from _inner(f"answer “{option['key']}”", option)
        elif name == "faults":
            for fault in value:
                yield from _inner(f"fault “{fault['key']}”", fault)
        elif name in NAMES:
            yield NAMES[name], _words(name, value)


def _inner(whose: str, entry: Document) -> Iterator[tuple[str, str]]:
    for name, value in entry.items():
        if name != "key" and name in NAMES:
            yield f"{whose}: {NAMES[name]}", _words(name, value)


def _words(name: str, value: Any) -> str:
    """Return a value as an owner reads it.

    >>> _words("rate", 0.125), _words("minutes", {"median_min": 5, "p90_min": 12.5}), _words("steps", ["Look.", "Push."])
    ('12.5 %', '5 usually, 12.5 in one of ten', 'Look. / Push.')
    """
    if name == "rate":
        return f"{100 * value:g} %"
    if name == "minutes":
        return f"{value['median_min']:g} usually, {value['p90_min']:g} in one of ten"
    if isinstance(value, Mapping):
        return ", ".join(
            f"{key} {each:g}" if isinstance(each, float) else f"{key} {each}" for key, each in value.items()
        )
    if isinstance(value, list):
        return " / ".join(str(each) for each in value)
    return f"{value:g}" if isinstance(value, float) else str(value)
