"""The form of one shipped check: its words, and how often and how long; what is left as shipped is not kept."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from fitstudio.catalogue.forms.fields import (
    LONGEST_LINE,
    LONGEST_TITLE,
    FigureField,
    LinesField,
    PercentField,
    WordsField,
    as_figure,
    as_lines,
)
from intake.catalogue.errors import EntryError
from intake.catalogue.overlay import MOST_BENCH_MIN, MOST_HOME_MIN

WORDING = ("title", "question", "why", "steps", "tools", "caution", "could_not", "home_min")


class CheckEditForm(forms.Form):
    """A shipped check as the studio words it. Emptied fields go back to what is shipped."""

    mark_optional = False

    seen = forms.CharField(required=False, max_length=32, widget=forms.HiddenInput)
    title = WordsField(label=_("Title"), longest=LONGEST_TITLE, required=False)
    question = WordsField(label=_("Question"), longest=LONGEST_LINE, required=False)
    why = WordsField(label=_("Why it is asked"), required=False, rows=2)
    steps = LinesField(label=_("Steps, one on each line"), required=False)
    tools = LinesField(label=_("Tools, one on each line"), required=False)
    caution = WordsField(label=_("Caution"), required=False, rows=2)
    could_not = WordsField(label=_("Words for “could not”"), longest=LONGEST_LINE, required=False)
    home_min = FigureField(label=_("Minutes at home"), low=0.5, high=MOST_HOME_MIN, unit=_("min"), required=False)

    def __init__(self, shipped: Mapping[str, Any], effective: Mapping[str, Any], **kwargs: Any) -> None:
        """Build the fields of this check around its words as they are now."""
        self.shipped = shipped
        initial = kwargs.pop("initial", {}) | _initial(effective)
        super().__init__(initial=initial, **kwargs)
        for option in shipped["options"]:
            self.fields[f"option_{option['key']}"] = WordsField(
                label=_("Answer “%s”") % option["label"], longest=LONGEST_LINE, required=False
            )
        for fault in shipped.get("faults", []):
            self.fields.update(_fault_fields(fault["key"]))

    def answers(self) -> Iterator[forms.BoundField]:
        """Yield the fields of the answers' words."""
        return (self[f"option_{option['key']}"] for option in self.shipped["options"])

    def faults(self) -> Iterator[tuple[str, list[forms.BoundField], list[forms.BoundField]]]:
        """Yield each fault: its shipped title, its words, its figures."""
        for fault in self.shipped.get("faults", []):
            key = fault["key"]
            words = [self[f"fault_{key}_{name}"] for name in ("title", "rider_text")]
            yield fault["title"], words, [self[f"fault_{key}_{name}"] for name in ("rate", "median", "p90")]

    @property
    def edit(self) -> dict[str, Any]:
        """Return what differs from the shipped check, as an overlay keeps it."""
        said = self.cleaned_data
        edit = _differing(self.shipped, {name: said.get(name) for name in WORDING})
        options = {
            option["key"]: _differing(option, {"label": said.get(f"option_{option['key']}")})
            for option in self.shipped["options"]
        }
        faults = {fault["key"]: self._fault(fault) for fault in self.shipped.get("faults", [])}
        for name, entries in (("options", options), ("faults", faults)):
            if kept := {key: entry for key, entry in entries.items() if entry}:
                edit[name] = kept
        return edit

    def _fault(self, fault: Mapping[str, Any]) -> dict[str, Any]:
        said = {name: self.cleaned_data.get(f"fault_{fault['key']}_{name}") for name in FAULT_NAMES}
        edit = _differing(fault, {name: said[name] for name in ("title", "rider_text", "rate")})
        shipped = fault.get("minutes", {})
        minutes = {"median_min": said["median"], "p90_min": said["p90"]}
        typed = {name: value for name, value in minutes.items() if value is not None}
        if typed and _differing(shipped, typed):
            edit["minutes"] = {**shipped, **typed}
        return edit

    def refuse(self, problems: tuple[EntryError, ...]) -> None:
        """Say beside each field what the catalogue would not take."""
        for problem in problems:
            self.add_error(self._field_of(problem.key), str(problem))

    def _field_of(self, key: str) -> str | None:
        _check, *path = key.split(".")
        names = {"median_min": "median", "p90_min": "p90", "minutes": "p90"}
        if len(path) > 1:
            name = f"fault_{path[0]}_{names.get(path[-1], path[-1])}"
            return name if name in self.fields else f"option_{path[0]}" if f"option_{path[0]}" in self.fields else None
        return path[0] if path and path[0] in self.fields else None


FAULT_NAMES = ("title", "rider_text", "rate", "median", "p90")


def _fault_fields(key: str) -> dict[str, forms.Field]:
    return {
        f"fault_{key}_title": WordsField(label=_("Title for the desk"), longest=LONGEST_TITLE, required=False),
        f"fault_{key}_rider_text": WordsField(label=_("Text for the rider"), required=False, rows=2),
        f"fault_{key}_rate": PercentField(label=_("Share of riders"), required=False),
        f"fault_{key}_median": FigureField(
            label=_("Minutes, usually"), low=0.5, high=MOST_BENCH_MIN, unit=_("min"), required=False
        ),
        f"fault_{key}_p90": FigureField(
            label=_("Minutes, one in ten takes longer"), low=0.5, high=MOST_BENCH_MIN, unit=_("min"), required=False
        ),
    }


def _initial(check: Mapping[str, Any]) -> dict[str, Any]:
    given: dict[str, Any] = {name: check.get(name, "") for name in WORDING}
    given |= {name: as_lines(check[name]) for name in ("steps", "tools")} | {"home_min": as_figure(check["home_min"])}
    given |= {f"option_{option['key']}": option["label"] for option in check["options"]}
    for fault in check.get("faults", []):
        minutes = fault.get("minutes", {})
        values = {
            "title": fault["title"],
            "rider_text": fault["rider_text"],
            "rate": as_figure(100 * fault["rate"]),
            "median": as_figure(minutes.get("median_min")),
            "p90": as_figure(minutes.get("p90_min")),
        }
        given |= {f"fault_{fault['key']}_{name}": value for name, value in values.items()}
    return given


def _differing(shipped: Mapping[str, Any], said: Mapping[str, Any]) -> dict[str, Any]:
    """Return what was said and is not what is shipped; nothing said means as shipped."""
    return {
        name: value
        for name, value in said.items()
        if value not in (None, "", []) and not _same(shipped.get(name), value)
    }


def _same(shipped: Any, said: Any) -> bool:
    if isinstance(said, float) and isinstance(shipped, int | float):
        return math.isclose(shipped, said, rel_tol=1e-5, abs_tol=1e-9)
    if isinstance(shipped, str) and isinstance(said, str):
        return shipped.split() == said.split()
    return bool(shipped == said)
