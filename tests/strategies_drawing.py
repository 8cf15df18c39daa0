"""What Hypothesis draws for the drawings and sheets: bikes measured in full, in part and absurdly, and any text."""

from hypothesis import strategies as st

from sessions.geometry.points import PointName

coordinates_mm = st.floats(-1200, 1200, allow_nan=False)
any_numbers = st.floats(allow_nan=True, allow_infinity=True)
text_of_any_kind = st.text(max_size=120)


def _points(numbers):
    return st.dictionaries(st.sampled_from([name.value for name in PointName]), st.tuples(numbers, numbers, numbers))


@st.composite
def bikes(draw):
    """Points about the bottom bracket, any of them missing."""
    return {**draw(_points(coordinates_mm)), "bottom_bracket": (0.0, 0.0, 0.0)}


nonsense_points = _points(any_numbers)


@st.composite
def likely_bikes(draw):
    """A bike as it stands on a floor, with every point within reach of where it usually is."""

    def near(x, y, z=0.0, by=60):
        return (x + draw(st.floats(-by, by)), y + draw(st.floats(-by, by)), z)

    radius = draw(st.floats(300, 370))
    floor = -draw(st.floats(240, 310))
    return {
        "bottom_bracket": (0.0, 0.0, 0.0),
        "saddle_nose": near(-50, 720),
        "saddle_datum": near(-190, 720),
        "saddle_tail": near(-330, 725),
        "bar_clamp": near(420, 640),
        "hood_left": near(500, 660, -210),
        "hood_right": near(500, 660, 210),
        "lever_tip_left": near(560, 580, -215),
        "lever_tip_right": near(560, 580, 215),
        "drop_left": near(450, 540, -220),
        "drop_right": near(450, 540, 220),
        "pedal_axle": near(120, -120, 110, by=10),
        "front_axle": (near(590, 0, by=40)[0], floor + radius, 0.0),
        "rear_axle": (near(-410, 0, by=20)[0], floor + radius, 0.0),
        "steerer_top": near(360, 630),
        "floor": (0.0, floor, 0.0),
    }


pmfs = st.lists(st.floats(0, 1), min_size=1, max_size=300).map(
    lambda weights: [weight / (sum(weights) or 1.0) for weight in weights]
)
