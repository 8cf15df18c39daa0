"""Where on the drawn body each area is marked, and where its callout stands in the margin.

Units are those of the drawing's view box, y down. The body is drawn about the line ``CENTRE``; ``out`` is the distance from it.
"""

from dataclasses import dataclass
from textwrap import wrap

WIDTH, HEIGHT, CENTRE = 380, 610, 190
BALLOON_OUT, LABEL_OUT = 92, 110
LETTERS = 12
LINE_HEIGHT = 16

# Area, side, distance of the spot from the centre line, height of the spot, height of its callout.
FRONT_RIGHT = (
    ("shoulder", "right", 44, 124, 52),
    ("elbow_forearm", "right", 54, 225, 108),
    ("wrist_hand", "right", 62, 300, 164),
    ("hip", "right", 38, 282, 220),
    ("thigh", "right", 25, 352, 276),
    ("knee_outer", "right", 35, 426, 332),
    ("knee_front", "right", 24, 430, 388),
    ("knee_inner", "right", 13, 434, 444),
    ("shin_calf", "right", 25, 490, 500),
    ("forefoot", "right", 31, 573, 556),
)
BACK_LEFT = (
    ("neck", "", 0, 92, 72),
    ("lower_back", "left", 17, 238, 216),
    ("buttock", "left", 23, 290, 272),
    ("knee_back", "left", 24, 428, 428),
    ("shin_calf", "left", 25, 482, 484),
    ("ankle_heel", "left", 24, 556, 552),
)
BACK_RIGHT = (
    ("upper_back", "", 0, 152, 128),
    ("lower_back", "right", 17, 238, 216),
    ("buttock", "right", 23, 290, 272),
    ("saddle_contact", "", 0, 316, 330),
    ("knee_back", "right", 24, 428, 428),
    ("shin_calf", "right", 25, 482, 484),
    ("ankle_heel", "right", 24, 556, 552),
)
FRONT_LEFT = tuple((area, "left", *place) for area, _side, *place in FRONT_RIGHT)


@dataclass(frozen=True)
class Callout:
    """A spot on the body with its balloon and label in the margin; ``toward`` is -1 on the drawing's left, 1 on its right."""

    area: str
    side: str
    toward: int
    spot_x: int
    spot_y: int
    row_y: int

    @property
    def balloon_x(self) -> int:
        """Return the centre of the balloon."""
        return CENTRE + self.toward * BALLOON_OUT

    @property
    def score_y(self) -> int:
        """Return the base line of the number in the balloon."""
        return self.row_y + 5

    @property
    def label_x(self) -> int:
        """Return where the label begins, away from the body."""
        return CENTRE + self.toward * LABEL_OUT

    @property
    def anchor(self) -> str:
        """Return how the label's lines are aligned."""
        return "start" if self.toward > 0 else "end"

    @property
    def target_x(self) -> int:
        """Return the left edge of the area to tap, which reaches from the balloon to the edge of the drawing."""
        return CENTRE + BALLOON_OUT - 14 if self.toward > 0 else 0

    @property
    def row_top(self) -> int:
        """Return the upper edge of the area to tap."""
        return self.row_y - 25

    def lines(self, label: str) -> list[tuple[int, str]]:
        """Return a label broken into lines, each with its height, about the row's middle."""
        parts = wrap(label, LETTERS, break_long_words=False)
        first = self.row_y + 4 - LINE_HEIGHT * (len(parts) - 1) // 2
        return [(first + LINE_HEIGHT * place, part) for place, part in enumerate(parts)]


def _column(spots: tuple[tuple[str, str, int, int, int], ...], toward: int) -> list[Callout]:
    return [
        Callout(area, side, toward, CENTRE + toward * out, spot_y, row_y) for area, side, out, spot_y, row_y in spots
    ]


def front_view() -> list[Callout]:
    """Return the callouts of a body that faces the reader: its right side is on the drawing's left."""
    return [*_column(FRONT_RIGHT, -1), *_column(FRONT_LEFT, 1)]


def back_view() -> list[Callout]:
    """Return the callouts of a body seen from behind: its left side is on the drawing's left."""
    return [*_column(BACK_LEFT, -1), *_column(BACK_RIGHT, 1)]
