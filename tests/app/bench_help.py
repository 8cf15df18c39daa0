"""A session on the bench, for the tests of the bench and of the fit sheet."""

from django.urls import reverse

from sessions.quantities import quantity
from sessions.safety import lines_for
from sessions.selectors.bench.records import bench_of
from sessions.services.bench.closing import save_safety_line
from sessions.services.bench.readings import Taken, save_readings
from sessions.services.bench.records import begin_record, close_record

HTMX = {"HX-Request": "true"}

# A bike whose readings agree to a tenth of a millimetre. Worked out with a pocket calculator from the points
# (mm, from the bottom bracket): nose (−60, 700), datum (−200, 700), hoods (480, 640), floor −270.
BEFORE = {
    "bb_height": 270.0,
    "crank_length": 172.5,
    "saddle_height": 728.0,  # √(200² + 700²) = 728.01
    "setback_nose": 60.0,
    "saddle_tilt": 0.0,
    "nose_to_hood": 543.3,  # √(540² + 60²) = 543.32
    "drop": 60.0,
    "hood_height_left": 910.0,
    "hood_height_right": 910.0,
    "hood_reach_left": 480.0,
    "hood_reach_right": 480.0,
    "cleat_fore_aft_left": -6.0,
    "cleat_fore_aft_right": -9.0,
}
# The saddle 12 mm up and the hoods 20 mm up and 10 mm back: datum (−200, 712), hoods (470, 660).
AFTER = {
    "saddle_height": 739.6,  # √(200² + 712²) = 739.56
    "setback_nose": 60.0,
    "saddle_tilt": 0.0,
    "nose_to_hood": 532.5,  # √(530² + 52²) = 532.54
    "drop": 52.0,
    "hood_height_left": 930.0,
    "hood_height_right": 930.0,
    "hood_reach_left": 470.0,
    "hood_reach_right": 470.0,
    "bb_height": 270.0,
}


def taken(value, key, *, instrument="", sigma=None):
    """A reading as it was taken with the usual instrument."""
    chosen = quantity(key)
    used = instrument or chosen.instrument.value
    return Taken(float(value), sigma or chosen.sigma_of(chosen.instrument), used, f"{value:g}")


def keep(record, phase, values, by=None):
    """Keep several readings of one phase."""
    given = {key: taken(value, key) for key, value in values.items()}
    return save_readings(record=record, phase=phase, given=given, by=by)


def begun(fit_session, by=None):
    """The open record of a session that has begun, with all that pages read of it."""
    begin_record(fit_session=fit_session, by=by)
    return bench_of(fit_session.pk).record


def settle(record, by=None, **states):
    """Settle every line of the safety list; ``states`` names those that are not done."""
    for line in lines_for(record.fit_session.bike):
        state = states.get(line.key, "done")
        torque = "5 N·m" if line.has_torque and state == "done" else ""
        changed = {"state": state, "torque_as_printed": torque, "note": ""}
        save_safety_line(record=record, item=line.key, changed=changed, by=by)


def closed(record, by=None):
    """The record with its list settled and closed."""
    settle(record, by)
    close_record(record=record, by=by)
    return record


def address(name, record, *args):
    """The address of one of the bench's pages."""
    return reverse(f"bench:{name}", args=[record.fit_session_id, *args])
