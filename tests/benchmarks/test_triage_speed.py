"""What the whole triage of an untouched check costs beside one forecast of the same session."""

import sys
from dataclasses import replace
from statistics import median
from time import perf_counter

import pytest

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import Adjustment, BikeKind
from intake.triage.answers import BikeFacts, TriageInput
from intake.triage.engine import session_forecast, triage
from tests.core.catalogues import slot

CHECKS = 40
RUNS = 21
ALLOWED = 20


def forty_checks():
    """The shipped checks of a road bike, with their dependencies, and as many copies of independent ones as make forty."""
    shipped = load_catalogue()
    road = [each for each in shipped.checks if not each.kinds or BikeKind.ROAD in each.kinds]
    plain = [
        shipped.check(key)
        for key in ("gears", "cleanliness", "headset_play", "lever_match", "crank_play", "shoes", "spacers")
    ]
    copies = [replace(each, key=f"{each.key}_again") for each in plain]
    return replace(shipped, checks=(*road, *copies[: CHECKS - len(road)]))


def seconds(work):
    """What one run takes."""
    started = perf_counter()
    work()
    return perf_counter() - started


@pytest.mark.benchmark
def test_the_whole_triage_with_what_to_ask_next(capsys):
    """Paired runs in turns. Warm for both: the lognormals of the catalogue, as in a process that has judged a session before."""
    given = TriageInput(forty_checks(), BikeFacts(BikeKind.ROAD), {}, (), slot(essential=Adjustment))
    found = triage(given)
    assert len(found.joint.cases) == len(found.questions) == CHECKS
    ratio = median(
        seconds(lambda: triage(given)) / seconds(lambda: session_forecast(found.joint, given.slot)) for _ in range(RUNS)
    )
    with capsys.disabled():
        sys.stdout.write(f"\nRATIO triage_ask_next_vs_forecast {ratio:.1f} <={ALLOWED}\n")
    assert ratio < ALLOWED
