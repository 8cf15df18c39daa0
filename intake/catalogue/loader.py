"""Build the catalogue from its TOML file; a broken file yields every problem at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from intake.catalogue.consistency import find_problems
from intake.catalogue.errors import (
    CatalogueError,
    EntryError,
    OutOfRangeError,
    UnknownAdjustmentError,
    UnknownChoiceError,
    UnreadableError,
    WrongValueError,
)
from intake.catalogue.schema import (
    Adjustment,
    AnswerOption,
    BenchMinutes,
    BikeKind,
    BodyArea,
    Catalogue,
    Check,
    Condition,
    CostBand,
    Evidence,
    Exposure,
    Fault,
    Freedom,
    Group,
    Hazard,
    Link,
    LinkSides,
    Moot,
    NumberField,
    NumberRule,
    Remedy,
    Side,
    Who,
)
from intake.catalogue.tables import Table, find_word, finite, values
from intake.catalogue.tangles import find_tangles

SHIPPED = Path(__file__).with_name("checks.toml")

FREEDOMS = {freedom.name.lower(): freedom for freedom in Freedom}


def load_catalogue(path: Path | None = None) -> Catalogue:
    """Return the catalogue in a TOML file, or the shipped one, which is read only once.

    Raises
    ------
    CatalogueError
        With everything that is wrong with the file.

    Examples
    --------
    >>> load_catalogue().check("post_slides").group.value
    'seat'
    """
    return _shipped() if path is None else parse_catalogue(_read(path))


@cache
def _shipped() -> Catalogue:
    return parse_catalogue(_read(SHIPPED))


def shipped_document() -> Mapping[str, Any]:
    """Return the shipped file as it is parsed, before anything is made of it.

    Raises
    ------
    CatalogueError
        Where the file cannot be read or is no TOML.
    """
    return _read(SHIPPED)


def _read(path: Path) -> Mapping[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        problem = UnreadableError(path.name, f"the file cannot be opened ({error.strerror})")
    except UnicodeDecodeError:
        problem = UnreadableError(path.name, "the file is not UTF-8 text")
    except tomllib.TOMLDecodeError as error:
        problem = UnreadableError(path.name, f"the file is no TOML: {error}")
    raise CatalogueError([problem])


def parse_catalogue(raw: Mapping[str, Any]) -> Catalogue:
    """Return the catalogue that a parsed TOML document describes.

    Raises
    ------
    CatalogueError
        With everything that is wrong with the document.
    """
    problems: list[EntryError] = []
    document = Table(raw, "", problems)
    version = document.text("version")
    areas = tuple(_area(table) for table in document.tables("areas", required=True))
    remedies = tuple(_remedy(table) for table in document.tables("remedies", required=True))
    checks = tuple(_check(table) for table in document.tables("checks", required=True))
    links = tuple(link for table in document.tables("links") for link in _links(table))
    exposures = tuple(_exposure(table) for table in document.tables("exposures"))
    moots = tuple(_moot(table) for table in document.tables("moots"))
    document.close()
    problems.extend(find_problems(checks, remedies, areas, links))
    problems.extend(find_tangles(checks, exposures, moots))
    if problems:
        raise CatalogueError(problems)
    return Catalogue(version, checks, {remedy.key: remedy for remedy in remedies}, areas, links, exposures, moots)


def _area(table: Table) -> BodyArea:
    area = BodyArea(key=table.key(), label=table.text("label"), sided=table.flag("sided"))
    table.close()
    return area


def _links(table: Table) -> tuple[Link, ...]:
    areas, finding = table.texts("areas"), table.text("finding")
    evidence, source = table.word("evidence", Evidence), table.text("source")
    sides = table.word("sides", LinkSides, LinkSides.EITHER)
    table.close()
    return tuple(Link(area, finding, evidence, source, sides) for area in areas)


def _exposure(table: Table) -> Exposure:
    exposure = Exposure(
        key=table.key(),
        title=table.text("title"),
        why=table.text("why"),
        check=table.text("check", required=False),
        given=table.numbers("given"),
        share=table.number("share", required=False),
    )
    table.close()
    return exposure


def _moot(table: Table) -> Moot:
    moot = Moot(fault=table.text("fault"), spared=table.texts("spared"), why=table.text("why"))
    table.close()
    return moot


def _remedy(table: Table) -> Remedy:
    remedy = Remedy(
        key=table.key(),
        who=table.word("who", Who),
        title=table.text("title"),
        detail=table.text("detail"),
        lead_days=table.whole("lead_days"),
        part=table.text("part", required=False),
        cost=table.word("cost", CostBand, CostBand.LOW),
        prepares=table.flag("prepares"),
    )
    table.close()
    return remedy


def _check(table: Table) -> Check:
    check = Check(
        key=table.key(),
        group=table.word("group", Group),
        title=table.text("title"),
        question=table.text("question"),
        why=table.text("why"),
        steps=table.texts("steps"),
        tools=table.texts("tools", empty=True),
        home_min=_home_min(table),
        caution=table.text("caution", required=False),
        options=tuple(_option(option) for option in table.tables("options", required=True)),
        faults=tuple(_fault(fault) for fault in table.tables("faults")),
        numbers=tuple(_number(number) for number in table.tables("numbers")),
        rules=tuple(_rule(rule) for rule in table.tables("rules")),
        kinds=table.words("kinds", BikeKind),
        conditions=tuple(_condition(condition) for condition in table.tables("conditions")),
        fact=table.text("fact", required=False),
        could_not=table.text("could_not", required=False),
    )
    table.close()
    return check


def _home_min(table: Table) -> float:
    home_min = table.number("home_min")
    if home_min is not None and home_min <= 0:
        table.problems.append(OutOfRangeError(f"{table.where}.home_min", f"{home_min:g} minutes is no time at all"))
    return home_min or 0.0


def _option(table: Table) -> AnswerOption:
    chances = {}
    for fault, chance in table.entries("faults").items():
        number = chance if isinstance(chance, float) else finite(chance)
        if number is not None:
            chances[fault] = number
        else:
            table.problems.append(WrongValueError(f"{table.where}.faults.{fault}", "this is not a number"))
    side = table.word("side", Side) if "side" in table.raw else None
    share = table.number("share", required=False)
    option = AnswerOption(key=table.key(), label=table.text("label"), faults=chances, side=side, share=share)
    table.close()
    return option


def _fault(table: Table) -> Fault:
    fault = Fault(
        key=table.key(),
        title=table.text("title"),
        rider_text=table.text("rider_text"),
        rate=table.number("rate") or 0.0,
        effects=_effects(table),
        minutes=_minutes(table),
        hazard=table.word("hazard", Hazard, Hazard.NONE),
        unreliable=table.flag("unreliable"),
        remedies=table.texts("remedies", required=False, empty=True),
        exposed=table.numbers("exposed"),
    )
    table.close()
    return fault


def _effects(table: Table) -> dict[Adjustment, Freedom]:
    effects = {}
    for name, word in table.entries("effects").items():
        where = f"{table.where}.effects.{name}"
        adjustment = find_word(Adjustment, name)
        freedom = FREEDOMS.get(word) if isinstance(word, str) else None
        if adjustment is None:
            table.problems.append(UnknownAdjustmentError(where, name, values(Adjustment)))
        elif freedom is None:
            table.problems.append(UnknownChoiceError(where, word, FREEDOMS))
        else:
            effects[adjustment] = freedom
    return effects


def _minutes(table: Table) -> BenchMinutes | None:
    if "minutes" not in table.raw:
        return None
    inner = Table(table.entries("minutes"), f"{table.where}.minutes", table.problems)
    median_min, p90_min = inner.number("median_min"), inner.number("p90_min")
    inner.close()
    return None if median_min is None or p90_min is None else BenchMinutes(median_min, p90_min)


def _number(table: Table) -> NumberField:
    minimum_mm, maximum_mm = table.number("minimum_mm"), table.number("maximum_mm")
    number = NumberField(
        key=table.key(),
        label=table.text("label"),
        # a missing limit is noted already; a range that holds lets the other checks go on
        minimum_mm=0.0 if minimum_mm is None else minimum_mm,
        maximum_mm=(minimum_mm or 0.0) + 1.0 if maximum_mm is None else maximum_mm,
        refusal=table.text("refusal"),
    )
    table.close()
    return number


def _rule(table: Table) -> NumberRule:
    rule = NumberRule(
        fault=table.text("fault"),
        field=table.text("field"),
        minus=table.text("minus", required=False),
        at_most_mm=table.number("at_most_mm", required=False),
        at_least_mm=table.number("at_least_mm", required=False),
    )
    table.close()
    return rule


def _condition(table: Table) -> Condition:
    condition = Condition(subject=table.text("subject"), among=table.texts("among"), unless=table.flag("unless"))
    table.close()
    return condition
