"""The body as the rider marks it: places on the figure and in the list, each with what was said about it."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from intake.catalogue.schema import BodyArea, Catalogue
from intake.edge.body_figure import HEIGHT, WIDTH, Callout, back_view, front_view
from intake.edge.words import place_label
from intake.models import Discomfort
from intake.models.previsit import SEVERE_FROM
from intake.selectors.triage import Told

SIDES = ("left", "right")
MODERATE_FROM = 4


@dataclass(frozen=True)
class Place:
    """One body area on one side, with what was said about it."""

    area: str
    side: str
    area_label: str
    row: Discomfort | None

    @property
    def key(self) -> str:
        """Return what names it in an address; areas are in snake_case, so a hyphen parts area and side."""
        return f"{self.area}-{self.side}" if self.side else self.area

    @property
    def label(self) -> str:
        """Return its name with the side."""
        return place_label(self.area_label, self.side)

    @property
    def words(self) -> str:
        """Return what was said, in words; nothing where nothing was."""
        if self.row is None:
            return ""
        if not self.row.score:
            return _("0, nothing")
        said = _("%(score)d of 10") % {"score": self.row.score}
        if self.row.after_min is None:
            return said
        return _("%(said)s, after %(minutes)d min") % {"said": said, "minutes": self.row.after_min}

    @property
    def level(self) -> str:
        """Return how strong it is as one word, for its look: empty where nothing was said."""
        if self.row is None:
            return ""
        score = self.row.score
        steps = (("severe", SEVERE_FROM), ("moderate", MODERATE_FROM), ("mild", 1))
        return next((word for word, least in steps if score >= least), "none")


@dataclass(frozen=True)
class Mark:
    """A place on the figure."""

    place: Place
    callout: Callout

    @property
    def lines(self) -> list[tuple[int, str]]:
        """Return the lines of its label; the figure itself says which side it is."""
        return self.callout.lines(self.place.area_label)


@dataclass(frozen=True)
class BodyMap:
    """Both views of the body and all its places."""

    places: tuple[Place, ...]
    front: tuple[Mark, ...]
    back: tuple[Mark, ...]
    width: int = WIDTH
    height: int = HEIGHT

    def place(self, key: str) -> Place:
        """Return the place with this key; KeyError where there is none."""
        for place in self.places:
            if place.key == key:
                return place
        raise KeyError(key)

    @property
    def hurting(self) -> tuple[Place, ...]:
        """Return the places that hurt, the worst first."""
        marked = [place for place in self.places if place.row is not None and place.row.score]
        return tuple(sorted(marked, key=lambda place: -place.row.score))

    @property
    def severe(self) -> bool:
        """Return whether a place hurts so much that it belongs with a doctor first."""
        return any(place.level == "severe" for place in self.places)


def body_map(told: Told, catalogue: Catalogue) -> BodyMap:
    """Return the body with what was said; it reads nothing itself."""
    rows = {(row.area, row.side): row for row in told.discomforts}
    places = tuple(place for area in catalogue.areas for place in _places(area, rows))
    known = {(place.area, place.side): place for place in places}
    return BodyMap(places, _marks(front_view(), known), _marks(back_view(), known))


def _places(area: BodyArea, rows: dict[tuple[str, str], Discomfort]) -> list[Place]:
    sides = SIDES if area.sided else ("",)
    return [Place(area.key, side, area.label, rows.get((area.key, side))) for side in sides]


def _marks(callouts: list[Callout], known: dict[tuple[str, str], Place]) -> tuple[Mark, ...]:
    found = [(known.get((callout.area, callout.side)), callout) for callout in callouts]
    return tuple(Mark(place, callout) for place, callout in found if place is not None)
