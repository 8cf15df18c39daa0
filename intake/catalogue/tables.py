"""Read one table of the file field by field: what is wrong is noted with its key and reading goes on."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from enum import Enum
from typing import Any, TypeVar

from intake.catalogue.errors import (
    EntryError,
    MissingFieldError,
    UnknownChoiceError,
    UnknownFieldError,
    WrongValueError,
)

Word = TypeVar("Word", bound=Enum)

SNAKE_CASE = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")


class Table:
    """One table of the file; a field is asked for by name and type, and ``close`` notes the fields nobody asked for.

    A field that cannot be read yields an empty value, so that one pass over the file finds everything that is wrong.
    """

    def __init__(self, raw: Mapping[str, Any], where: str, problems: list[EntryError]) -> None:
        self.raw = raw
        self.where = where
        self.problems = problems
        self.asked: set[str] = set()

    def _at(self, name: str) -> str:
        return f"{self.where}.{name}" if self.where else name

    def _value(self, name: str, *, required: bool) -> Any:
        self.asked.add(name)
        if name not in self.raw and required:
            self.problems.append(MissingFieldError(self._at(name)))
        return self.raw.get(name)

    def _wrong(self, name: str, sentence: str) -> None:
        self.problems.append(WrongValueError(self._at(name), sentence))

    def text(self, name: str, *, required: bool = True) -> str:
        """Return a text without blank edges; a text that is given must not be blank."""
        value = self._value(name, required=required)
        if value is None:
            return ""
        if not isinstance(value, str) or not value.strip():
            self._wrong(name, "this must be a text that is not empty")
            return ""
        return value.strip()

    def key(self, name: str = "key") -> str:
        """Return a key in snake_case."""
        value = self.text(name)
        if value and not SNAKE_CASE.fullmatch(value):
            self._wrong(name, f"“{value}” is not in snake_case")
        return value

    def texts(self, name: str, *, required: bool = True, empty: bool = False) -> tuple[str, ...]:
        """Return a list of texts, none of them blank; the list itself may be empty only with ``empty``."""
        value = self._value(name, required=required)
        if value is None:
            return ()
        if not isinstance(value, list) or any(not isinstance(item, str) or not item.strip() for item in value):
            self._wrong(name, "this must be a list of texts that are not empty")
            return ()
        if not value and not empty:
            self._wrong(name, "this list is empty")
        return tuple(item.strip() for item in value)

    def number(self, name: str, *, required: bool = True) -> float | None:
        """Return a finite number."""
        value = self._value(name, required=required)
        if value is None:
            return None
        number = finite(value)
        if number is None:
            shown = f"“{value}”" if isinstance(value, str | float | bool) else "this"
            self._wrong(name, f"{shown} is not a number")
        return number

    def whole(self, name: str) -> int:
        """Return a whole number."""
        value = self.number(name)
        if value is not None and not value.is_integer():
            self._wrong(name, f"“{value:g}” is not a whole number")
        return int(value or 0)

    def flag(self, name: str) -> bool:
        """Return true or false; false where the field is absent."""
        value = self._value(name, required=False)
        if value is not None and not isinstance(value, bool):
            self._wrong(name, "this must be true or false")
        return value is True

    def word(self, name: str, words: type[Word], default: Word | None = None) -> Word:
        """Return a member of an enumeration by its value; ``default`` stands where the field is absent."""
        value = self._value(name, required=default is None)
        found = find_word(words, value)
        if found is None and value is not None:
            self.problems.append(UnknownChoiceError(self._at(name), value, values(words)))
        return found or default or next(iter(words))

    def words(self, name: str, words: type[Word]) -> tuple[Word, ...]:
        """Return members of an enumeration; none where the field is absent."""
        found = []
        for value in self.texts(name, required=False):
            member = find_word(words, value)
            if member is None:
                self.problems.append(UnknownChoiceError(self._at(name), value, values(words)))
            else:
                found.append(member)
        return tuple(found)

    def entries(self, name: str) -> Mapping[str, Any]:
        """Return a table of names and values as it stands; empty where the field is absent."""
        value = self._value(name, required=False)
        if value is None:
            return {}
        if not isinstance(value, dict):
            self._wrong(name, "this must be a table of names and values")
            return {}
        return value

    def numbers(self, name: str) -> dict[str, float]:
        """Return a table of names and finite numbers; empty where the field is absent."""
        inner = Table(self.entries(name), self._at(name), self.problems)
        found = {key: inner.number(key) for key in inner.raw}
        return {key: number for key, number in found.items() if number is not None}

    def tables(self, name: str, *, required: bool = False) -> tuple[Table, ...]:
        """Return a list of tables, each named by its own key, or by its place where it has none."""
        value = self._value(name, required=required)
        if value is None:
            return ()
        if not isinstance(value, list) or any(not isinstance(item, dict) for item in value):
            self._wrong(name, "this must be a list of tables")
            return ()
        return tuple(Table(item, self._entry(name, item, place), self.problems) for place, item in enumerate(value, 1))

    def _entry(self, name: str, item: Mapping[str, Any], place: int) -> str:
        key = item.get("key")
        label = key if isinstance(key, str) and key else f"{name}[{place}]"
        return self._at(label)

    def close(self) -> None:
        """Note every field that was not asked for."""
        self.problems.extend(UnknownFieldError(self._at(name)) for name in self.raw if name not in self.asked)


def finite(value: object) -> float | None:
    """Return a finite number as a float, None for anything else; a whole number can be too long to be one.

    >>> finite(3), finite(True), finite(float("nan")), finite(10**400)
    (3.0, None, None, None)
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def find_word(words: type[Word], value: object) -> Word | None:
    """Return the member with this value, or None."""
    return next((word for word in words if word.value == value), None)


def values(words: type[Word]) -> Iterable[str]:
    """Return the values of an enumeration as texts."""
    return [str(word.value) for word in words]
