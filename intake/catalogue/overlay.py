"""An owner's changes, laid over the shipped catalogue: words, rates, minutes, checks switched off, checks of their own.

An overlay is a document of plain values with up to four parts::

    {"off": ["gears"],
     "checks": {"crash": {"title": "…", "options": {"no": {"label": "…"}}, "faults": {"fall": {"rate": 0.04}}}},
     "own_checks": [{"key": "own_rack", …}],
     "own_remedies": [{"key": "own_take_off", …}]}

What it does not name stays as it is shipped, so that an update of the shipped file reaches every studio.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from intake.catalogue.errors import (
    CatalogueError,
    EntryError,
    NeededByOthersError,
    OutOfRangeError,
    SafetyCheckError,
    VanishedError,
    WrongValueError,
)
from intake.catalogue.loader import parse_catalogue
from intake.catalogue.schema import Catalogue
from intake.catalogue.tables import Table

Document = Mapping[str, Any]

PARTS = ("off", "checks", "own_checks", "own_remedies")
WORDS, LISTS = ("title", "question", "why", "caution", "could_not"), ("steps", "tools")
FAULT_WORDS = ("title", "rider_text")
OWN = "own_"
LONGEST_KEY = 60  # what a stored answer can name
MOST_BENCH_MIN, MOST_HOME_MIN, MOST_LEAD_DAYS = 1440, 240, 120


def overlaid(base: Document, overlay: object, number: int = 0) -> Catalogue:
    """Return the catalogue that an overlay makes of a shipped document.

    Parameters
    ----------
    base
        The shipped document.
    overlay
        The changes; anything at all may be given, and what is no overlay is refused.
    number
        The edition's number; it becomes part of the version, 0 leaves the version as it is.

    Raises
    ------
    CatalogueError
        With everything that is wrong, each thing by its key.

    Examples
    --------
    >>> from intake.catalogue.loader import shipped_document
    >>> catalogue = overlaid(shipped_document(), {"checks": {"gears": {"title": "Gears and chain"}}}, 3)
    >>> catalogue.check("gears").title, catalogue.version.endswith("+3")
    ('Gears and chain', True)
    """
    catalogue = parse_catalogue(effective_document(base, overlay, number))
    problems = list(_beyond_sense(catalogue))
    if problems:
        raise CatalogueError(problems)
    return catalogue


def effective_document(base: Document, overlay: object, number: int = 0) -> dict[str, Any]:
    """Return the shipped document with the changes made; the loader has still to read it.

    Raises
    ------
    CatalogueError
        Where the overlay has another shape, names what the shipped document lacks, or switches off what must be asked.
    """
    problems: list[EntryError] = []
    if not isinstance(overlay, Mapping):
        raise CatalogueError([WrongValueError("overlay", "this must be a table of changes")])
    table = Table(overlay, "", problems)
    off = table.texts("off", required=False, empty=True)
    edits = {key: _table(key or "checks", raw, problems) for key, raw in table.entries("checks").items()}
    own_checks = [dict(own.raw) for own in table.tables("own_checks")]
    own_remedies = [dict(own.raw) for own in table.tables("own_remedies")]
    table.close()
    checks = [_edited(check, edits.pop(check["key"], None), problems) for check in base["checks"]]
    problems.extend(VanishedError(key or "checks") for key in edits)
    problems.extend(_own_keys(own_checks, own_remedies))
    problems.extend(_cannot_be_off(off, checks, own_checks))
    if problems:
        raise CatalogueError(problems)
    asked = [check for check in (*checks, *own_checks) if check.get("key") not in off]
    return {
        **base,
        "version": f"{base['version']}+{number}" if number else base["version"],
        "remedies": [*base["remedies"], *own_remedies],
        "checks": asked,
        **_what_hangs_together(base, asked, off),
    }


def _what_hangs_together(base: Document, asked: list[dict[str, Any]], off: Collection[str]) -> dict[str, Any]:
    """Return links, exposures and moots without the checks that are off; an exposure goes with the check that speaks of it."""

    def gone(finding: str) -> bool:
        return finding.partition(".")[0] in off

    silent = {exposure["key"] for exposure in base.get("exposures", ()) if exposure.get("check") in off}
    for check in asked:
        if silent and any("exposed" in fault for fault in _tables_of(check, "faults")):
            check["faults"] = [_unexposed(fault, silent) for fault in check["faults"]]
    moots = [
        {**moot, "spared": [finding for finding in moot["spared"] if not gone(finding)]}
        for moot in base.get("moots", ())
        if not gone(moot["fault"])
    ]
    return {
        "links": [link for link in base.get("links", ()) if not gone(link["finding"])],
        "exposures": [exposure for exposure in base.get("exposures", ()) if exposure["key"] not in silent],
        "moots": [moot for moot in moots if moot["spared"]],
    }


def _unexposed(fault: Document, silent: Collection[str]) -> dict[str, Any]:
    exposed = {key: times for key, times in fault.get("exposed", {}).items() if key not in silent}
    return {name: value for name, value in {**fault, "exposed": exposed}.items() if name != "exposed" or exposed}


def _table(where: str, raw: object, problems: list[EntryError]) -> Table:
    if not isinstance(raw, Mapping):
        problems.append(WrongValueError(where, "this must be a table of names and values"))
        raw = {}
    return Table(raw, where, problems)


def _edited(check: Document, edit: Table | None, problems: list[EntryError]) -> dict[str, Any]:
    """Return a shipped check with its own changes."""
    if edit is None:
        return dict(check)
    made: dict[str, Any] = {**check, **_given(edit, WORDS)}
    made |= {name: list(edit.texts(name, empty=name == "tools")) for name in LISTS if name in edit.raw}
    if (home_min := edit.number("home_min", required=False)) is not None:
        made["home_min"] = home_min
    for name, change in (("options", _option_edit), ("faults", _fault_edit)):
        edits = {key: _table(f"{edit.where}.{key}", raw, problems) for key, raw in edit.entries(name).items()}
        made[name] = [_entry(entry, edits.pop(entry["key"], None), change) for entry in check.get(name, [])]
        problems.extend(VanishedError(f"{edit.where}.{key}") for key in edits)
    edit.close()
    return made


def _given(edit: Table, names: Collection[str]) -> dict[str, Any]:
    return {name: edit.text(name) for name in names if name in edit.raw}


def _entry(entry: Document, edit: Table | None, change: Any) -> dict[str, Any]:
    if edit is None:
        return dict(entry)
    made = {**entry, **change(edit)}
    edit.close()
    return made


def _option_edit(edit: Table) -> dict[str, Any]:
    return _given(edit, ("label",))


def _fault_edit(edit: Table) -> dict[str, Any]:
    made = _given(edit, FAULT_WORDS)
    if (rate := edit.number("rate", required=False)) is not None:
        made["rate"] = rate
    if minutes := edit.entries("minutes"):
        made["minutes"] = dict(minutes)
    return made


def _own_keys(own_checks: list[dict[str, Any]], own_remedies: list[dict[str, Any]]) -> Iterator[EntryError]:
    """Yield keys that a later shipped catalogue could take, and those too long to be stored beside an answer."""
    for entry in (*own_checks, *own_remedies):
        key = entry.get("key")
        if isinstance(key, str) and not key.startswith(OWN):
            yield WrongValueError(key, f"the key of something of your own begins with “{OWN}”")
    inner = [part for check in own_checks for name in ("options", "faults") for part in _tables_of(check, name)]
    for named in (*own_checks, *own_remedies, *inner):
        key = named.get("key")
        if isinstance(key, str) and len(key) > LONGEST_KEY:
            yield WrongValueError(key, f"a key has at most {LONGEST_KEY} letters")


def _tables_of(check: Document, name: str) -> list[Document]:
    entries = check.get(name)
    return [entry for entry in entries if isinstance(entry, dict)] if isinstance(entries, list) else []


def watches_for_harm(check: Document) -> bool:
    """Return whether a check, as its document has it, looks for something that can hurt somebody."""
    return any(fault.get("hazard", "none") != "none" for fault in _tables_of(check, "faults"))


def _cannot_be_off(
    off: tuple[str, ...], checks: list[dict[str, Any]], own_checks: list[dict[str, Any]]
) -> Iterator[EntryError]:
    """Yield what is wrong with switching these checks off.

    What can hurt a rider is asked of everybody: a studio that no longer asks could not tell a bike without the fault from one
    with it. It may be reworded. A check of the studio's own may go, whatever it looks for.
    """
    shipped = {check["key"]: check for check in checks}
    own = [check.get("key") for check in own_checks]
    for key in off:
        if key not in shipped and key not in own:
            yield VanishedError(key)
        elif key in shipped and watches_for_harm(shipped[key]):
            yield SafetyCheckError(key)
        elif needed_by := [name for name in dependents(key, (*checks, *own_checks)) if name not in off]:
            yield NeededByOthersError(key, needed_by)


def dependents(key: str, checks: Collection[Document]) -> list[str]:
    """Return the keys of the checks that are asked, or not, depending on the answer to this one."""
    subject = f"answer.{key}"
    return [
        str(check.get("key"))
        for check in checks
        if any(condition.get("subject") == subject for condition in _tables_of(check, "conditions"))
    ]


def _beyond_sense(catalogue: Catalogue) -> Iterator[EntryError]:
    """Yield figures that are numbers and yet cannot be meant."""
    for remedy in catalogue.remedies.values():
        if remedy.lead_days > MOST_LEAD_DAYS:
            yield OutOfRangeError(
                f"{remedy.key}.lead_days", f"more than {MOST_LEAD_DAYS} working days cannot be waited for"
            )
    for check in catalogue.checks:
        if check.home_min > MOST_HOME_MIN:
            yield OutOfRangeError(
                f"{check.key}.home_min", f"a rider has no more than {MOST_HOME_MIN} minutes for one check"
            )
        for fault in check.faults:
            if fault.minutes is not None and fault.minutes.p90_min > MOST_BENCH_MIN:
                where = f"{check.key}.{fault.key}.minutes.p90_min"
                yield OutOfRangeError(where, f"more than {MOST_BENCH_MIN} minutes is longer than a day")


def without_misfits(base: Document, overlay: Mapping[str, Any]) -> dict[str, Any]:
    """Return an overlay without the changes to what the shipped catalogue no longer has; those that fit stay."""
    shipped = {check["key"]: check for check in base["checks"]}
    own = {check.get("key") for check in overlay.get("own_checks", [])}
    fitting = dict(overlay)
    fitting["off"] = [key for key in overlay.get("off", []) if key in shipped or key in own]
    fitting["checks"] = {
        key: _fitting_edit(shipped[key], edit) for key, edit in overlay.get("checks", {}).items() if key in shipped
    }
    return {name: value for name, value in fitting.items() if value}


def _fitting_edit(check: Document, edit: Mapping[str, Any]) -> dict[str, Any]:
    fitting = dict(edit)
    for name in ("options", "faults"):
        known = {entry["key"] for entry in check.get(name, [])}
        if name in edit:
            fitting[name] = {key: value for key, value in edit[name].items() if key in known}
    return {name: value for name, value in fitting.items() if value not in ({}, [])}


def usable(base: Document, overlay: object) -> dict[str, Any]:
    """Return what can be used of changes that may no longer fit, or were never any: everything else is left out, check by check."""
    try:
        fitting = without_misfits(base, dict(overlay)) if isinstance(overlay, Mapping) else {}
        while True:
            named = _named_as_wrong(base, fitting)
            if not named:
                return fitting
            left = {part: _left(fitting[part], named) for part in PARTS if part in fitting}
            if left == fitting:
                return {}
            fitting = left
    except (AttributeError, KeyError, TypeError):
        return {}  # whatever stands there is no overlay


def _named_as_wrong(base: Document, overlay: Document) -> set[str]:
    try:
        overlaid(base, overlay)
    except CatalogueError as error:
        return {problem.key.partition(".")[0] for problem in error.problems}
    return set()


def _left(part: Any, named: Collection[str]) -> Any:
    if isinstance(part, Mapping):
        return {key: edit for key, edit in part.items() if key not in named}
    return [each for each in part if (each["key"] if isinstance(each, Mapping) else each) not in named]
