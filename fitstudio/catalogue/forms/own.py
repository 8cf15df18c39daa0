"""The guided form of a check of the studio's own: a question, its answers, one fault, what it does, how it is put right."""

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
from intake.catalogue.overlay import MOST_BENCH_MIN, MOST_HOME_MIN, MOST_LEAD_DAYS
from intake.catalogue.schema import BikeKind, CostBand, Hazard, Remedy
from intake.edge.words import GROUP_LABELS, WHO_LABELS
from intake.models.bikes import Bike
from sessions.models.studios import ADJUSTMENT_LABELS

MOST_ANSWERS, NEEDED_ANSWERS = 5, 2
FAULT = "fault"
FREEDOMS = [("", _("free")), ("limited", _("limited")), ("locked", _("locked"))]
HAZARDS = [
    (Hazard.NONE.value, _("none")),
    (Hazard.DO_NOT_RIDE.value, _("do not ride until it is inspected")),
    (Hazard.SEE_CLINICIAN.value, _("see a doctor or physiotherapist first")),
]
COSTS = [
    (CostBand.FREE.value, _("nothing")),
    (CostBand.LOW.value, _("a little")),
    (CostBand.MIDDLE.value, _("middling")),
    (CostBand.HIGH.value, _("much")),
]
NEEDED = {"required": _("Fill this in: without it riders could not be asked.")}


class OwnCheckForm(forms.Form):
    """A check of the studio's own with one fault."""

    seen = forms.CharField(required=False, max_length=32, widget=forms.HiddenInput)
    group = forms.ChoiceField(
        label=_("Where on the list"), choices=[(g.value, label) for g, label in GROUP_LABELS.items()]
    )
    title = WordsField(label=_("Title"), longest=LONGEST_TITLE, error_messages=NEEDED)
    question = WordsField(label=_("Question"), longest=LONGEST_LINE, error_messages=NEEDED)
    why = WordsField(label=_("Why it is asked"), rows=2, error_messages=NEEDED)
    steps = LinesField(label=_("Steps, one on each line"), error_messages=NEEDED)
    tools = LinesField(label=_("Tools, one on each line"), required=False)
    caution = WordsField(label=_("Caution"), required=False, rows=2)
    home_min = FigureField(
        label=_("Minutes at home"), low=0.5, high=MOST_HOME_MIN, unit=_("min"), error_messages=NEEDED
    )
    kinds = forms.MultipleChoiceField(
        label=_("Only for these kinds of bike"),
        required=False,
        choices=[(kind.value, Bike(kind=kind.value).get_kind_display()) for kind in BikeKind],
        widget=forms.CheckboxSelectMultiple(attrs={"class": "inline"}),
        help_text=_("None ticked: every bike."),
    )
    fault_title = WordsField(label=_("What is wrong, for the desk"), longest=LONGEST_TITLE, error_messages=NEEDED)
    rider_text = WordsField(label=_("What it means, for the rider"), rows=2, error_messages=NEEDED)
    rate = PercentField(label=_("Share of riders who have it"), error_messages=NEEDED)
    median = FigureField(
        label=_("Minutes at the bench, usually"), low=0.5, high=MOST_BENCH_MIN, unit=_("min"), required=False
    )
    p90 = FigureField(
        label=_("Minutes, one in ten takes longer"), low=0.5, high=MOST_BENCH_MIN, unit=_("min"), required=False
    )
    hazard = forms.ChoiceField(label=_("Danger"), choices=HAZARDS, initial=Hazard.NONE.value)
    unreliable = forms.BooleanField(label=_("What is measured cannot be trusted until it is put right"), required=False)
    remedies = forms.MultipleChoiceField(
        label=_("Remedies from the list"), required=False, widget=forms.CheckboxSelectMultiple
    )
    own_title = WordsField(label=_("Title"), longest=LONGEST_TITLE, required=False)
    own_detail = WordsField(label=_("What to do"), required=False, rows=2)
    own_who = forms.ChoiceField(
        label=_("Who does it"), required=False, choices=[(w.value, label) for w, label in WHO_LABELS.items()]
    )
    own_lead = FigureField(label=_("Working days it takes"), low=0, high=MOST_LEAD_DAYS, required=False)
    own_cost = forms.ChoiceField(label=_("What it costs the rider"), required=False, choices=COSTS)
    own_part = WordsField(label=_("Part to bring or to buy"), longest=LONGEST_LINE, required=False)

    def __init__(self, key: str, remedies: Mapping[str, Remedy], **kwargs: Any) -> None:
        """Add the rows of answers and adjustments; ``key`` is the check's own."""
        self.key = key
        super().__init__(**kwargs)
        listed = [(each.key, f"{WHO_LABELS[each.who]}: {each.title}") for each in remedies.values()]
        self.fields["remedies"].choices = [each for each in listed if each[0] != self.remedy_key]
        for place in range(1, MOST_ANSWERS + 1):
            needed = place <= NEEDED_ANSWERS
            label = WordsField(
                label=_("Answer %d") % place, longest=LONGEST_LINE, required=needed, error_messages=NEEDED
            )
            self.fields[f"answer_{place}"] = label
            self.fields[f"chance_{place}"] = PercentField(label=_("Chance of the fault"), required=False)
        for adjustment, words in ADJUSTMENT_LABELS.items():
            self.fields[f"effect_{adjustment.value}"] = forms.ChoiceField(label=words, choices=FREEDOMS, required=False)

    @property
    def remedy_key(self) -> str:
        """Return the key of the remedy that belongs to this check alone."""
        return f"{self.key}_remedy"

    def answers(self) -> Iterator[tuple[forms.BoundField, forms.BoundField]]:
        """Yield each row of answers: its words and its chance."""
        return ((self[f"answer_{place}"], self[f"chance_{place}"]) for place in range(1, MOST_ANSWERS + 1))

    def effects(self) -> Iterator[forms.BoundField]:
        """Yield the fields of the adjustments."""
        return (self[f"effect_{adjustment.value}"] for adjustment in ADJUSTMENT_LABELS)

    def clean(self) -> dict[str, Any]:
        """Say beside the field what does not go together."""
        said = super().clean()
        chances = [said.get(f"chance_{place}") or 0 for place in self._given(said)]
        if chances and all(chances):
            self.add_error("chance_1", _("One answer must say that all is well: leave its chance empty."))
        if chances and not any(chances):
            self.add_error(
                "chance_2", _("One answer must speak of the fault: give it a chance, 100 % where it is sure.")
            )
        if (said.get("median") is None) != (said.get("p90") is None):
            self.add_error("p90", _("Give both figures of minutes, or neither."))
        missing = [name for name in ("own_title", "own_detail", "own_lead") if said.get(name) in (None, "")]
        if 0 < len(missing) < 3:
            for name in missing:
                if name not in self.errors:
                    self.add_error(name, _("A remedy of your own needs a title, what to do, and its working days."))
        return said

    @staticmethod
    def _given(said: Mapping[str, Any]) -> list[int]:
        return [place for place in range(1, MOST_ANSWERS + 1) if said.get(f"answer_{place}")]

    @property
    def check(self) -> dict[str, Any]:
        """Return the check as an overlay keeps it."""
        said = self.cleaned_data
        made = {name: said[name] for name in ("group", "title", "question", "why", "steps", "tools", "home_min")}
        made |= {name: said[name] for name in ("caution", "kinds") if said[name]}
        options = [self._option(place) for place in self._given(said)]
        return {"key": self.key, **made, "options": options, "faults": [self._fault()]}

    def _option(self, place: int) -> dict[str, Any]:
        chance = self.cleaned_data.get(f"chance_{place}") or 0
        option: dict[str, Any] = {"key": f"answer_{place}", "label": self.cleaned_data[f"answer_{place}"]}
        return option | ({"faults": {FAULT: chance}} if chance else {})

    def _fault(self) -> dict[str, Any]:
        said = self.cleaned_data
        fault = {"key": FAULT, "title": said["fault_title"], "rider_text": said["rider_text"], "rate": said["rate"]}
        effects = {key.value: said[f"effect_{key.value}"] for key in ADJUSTMENT_LABELS if said[f"effect_{key.value}"]}
        minutes = {"median_min": said["median"], "p90_min": said["p90"]} if said["median"] is not None else {}
        remedies = [*said["remedies"], *([self.remedy_key] if self.remedy else [])]
        extra = {"effects": effects, "minutes": minutes, "unreliable": said["unreliable"], "hazard": said["hazard"]}
        return fault | {name: value for name, value in extra.items() if value} | {"remedies": remedies}

    @property
    def remedy(self) -> dict[str, Any] | None:
        """Return the remedy of the studio's own, None where none is described."""
        said = self.cleaned_data
        if not said.get("own_title"):
            return None
        remedy = {
            "key": self.remedy_key,
            "who": said["own_who"] or "studio",
            "title": said["own_title"],
            "detail": said["own_detail"],
            "lead_days": said["own_lead"],
            "cost": said["own_cost"] or CostBand.LOW.value,
        }
        return remedy | ({"part": said["own_part"]} if said["own_part"] else {})

    def refuse(self, problems: tuple[EntryError, ...]) -> None:
        """Say beside each field what the catalogue would not take."""
        for problem in problems:
            self.add_error(self._field_of(problem.key), str(problem))

    def _field_of(self, key: str) -> str | None:
        first, *path = key.split(".")
        last = path[-1] if path else ""
        if first == self.remedy_key:
            return {"lead_days": "own_lead", "title": "own_title", "detail": "own_detail"}.get(last, "own_title")
        if path == [FAULT]:
            return "remedies"
        names = {"minutes": "p90", "median_min": "median", "p90_min": "p90", "rate": "rate"}
        name = names.get(last, last)
        return name if name in self.fields else None


def own_initial(check: Mapping[str, Any], remedies: list[Mapping[str, Any]]) -> dict[str, Any]:
    """Return a check of the studio's own as its form shows it."""
    fault, remedy_key = check["faults"][0], f"{check['key']}_remedy"
    minutes = fault.get("minutes", {})
    given: dict[str, Any] = {name: check.get(name, "") for name in ("group", "title", "question", "why", "caution")}
    given |= {"steps": as_lines(check["steps"]), "tools": as_lines(check["tools"]), "kinds": check.get("kinds", [])}
    given |= {"home_min": as_figure(check["home_min"]), "rate": as_figure(100 * fault["rate"])}
    given |= {"fault_title": fault["title"], "rider_text": fault["rider_text"], "hazard": fault.get("hazard", "none")}
    given |= {"median": as_figure(minutes.get("median_min")), "p90": as_figure(minutes.get("p90_min"))}
    given |= {
        "unreliable": fault.get("unreliable", False),
        "remedies": [key for key in fault["remedies"] if key != remedy_key],
    }
    given |= {f"effect_{key}": word for key, word in fault.get("effects", {}).items()}
    for place, option in enumerate(check["options"], 1):
        given[f"answer_{place}"] = option["label"]
        given[f"chance_{place}"] = as_figure(100 * option["faults"][FAULT]) if option.get("faults") else ""
    for remedy in remedies:
        if remedy["key"] == remedy_key:
            names = {"title": "title", "detail": "detail", "who": "who", "cost": "cost", "part": "part"}
            given |= {f"own_{name}": remedy.get(field, "") for field, name in names.items()}
            given["own_lead"] = as_figure(remedy["lead_days"])
    return given
