"""What can be read at the bench: stable keys, every part of the core's common set, coordinates that the core understands."""

import pytest

from sessions.geometry.errors import OutOfLimitsError, UnknownKeyError
from sessions.geometry.points import MIDDLES, SIDED, PointName
from sessions.quantities import OF_CORE_KEY, QUANTITIES, Part, axes_of, quantities_of, quantity
from sessions.tape.common import COMMON
from sessions.tape.fit import solve_fit
from sessions.tape.readings import ANGLE_INSTRUMENTS, Instrument

# A plausible point of each kind [mm]: where the middle of its limits would be no bike.
PLACES = {"x": 100.0, "y": 600.0, "z": 200.0}


def test_all_of_the_common_set_is_there_once():
    """Nothing that the core knows is missing from the bench."""
    assert {key for key, each in QUANTITIES.items() if each.point is None} == set(COMMON)
    shown = [each.key for part in Part for each in quantities_of(part)]
    assert sorted(shown) == sorted(QUANTITIES)


def test_keys_fit_into_an_address_and_an_id():
    """Of letters, digits, underscores and one dot; no two share their id or their core key."""
    assert all(key.replace(".", "", 1).replace("_", "").isalnum() for key in QUANTITIES)
    assert len({each.slug for each in QUANTITIES.values()}) == len(OF_CORE_KEY) == len(QUANTITIES)
    assert max(map(len, QUANTITIES)) <= 60


@pytest.mark.parametrize("point", [point for point in PointName if point not in MIDDLES])
def test_each_point_has_the_coordinates_that_it_can_have(point):
    """z only for what may stand beside the middle plane, of the floor only its height; middles are worked out."""
    axes = {each.axis for each in QUANTITIES.values() if each.point is point}
    assert axes == set(axes_of(point))
    assert ("z" in axes) == (point in SIDED or point is PointName.BOTTOM_BRACKET)
    assert (axes == {"y"}) == (point is PointName.FLOOR)


@pytest.mark.parametrize("key", QUANTITIES)
def test_every_quantity_becomes_a_reading_that_the_core_solves(key):
    """Under the key by which the core speaks of it, with each instrument that is offered."""
    each = quantity(key)
    value = PLACES[each.axis] if each.axis else (each.limits.low + each.limits.high) / 2
    for instrument in each.instruments:
        assert (each.unit == "deg") == (instrument in ANGLE_INSTRUMENTS)
        reading = each.reading(value, instrument=instrument)
        assert (reading.key, reading.sigma) == (each.core_key, each.sigma_of(instrument))
        assert solve_fit([reading]).suspects == ()
    assert each.instrument in each.instruments
    assert Instrument.ASSUMED not in each.instruments


def test_what_is_not_a_quantity_is_refused():
    """With the offending key."""
    with pytest.raises(UnknownKeyError) as refused:
        quantity("halo")
    assert refused.value.value == "halo"
    with pytest.raises(OutOfLimitsError):
        quantity("saddle_nose.y").reading(1e6)
