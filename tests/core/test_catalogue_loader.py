"""A broken catalogue says everything that is wrong with it, each thing by its key."""

import copy

import pytest

from intake.catalogue import errors
from intake.catalogue.loader import SHIPPED, load_catalogue, parse_catalogue
from intake.catalogue.schema import Adjustment, Evidence, Freedom, Hazard, Link, LinkSides, Side, Who
from tests.core.catalogue_mistakes import BROKEN, SOUND


def problems_of(document):
    with pytest.raises(errors.CatalogueError) as caught:
        parse_catalogue(document)
    return caught.value.problems


def test_a_sound_catalogue_is_read_to_the_letter():
    """Words become members, absent fields their defaults."""
    catalogue = parse_catalogue(SOUND)
    loose, broken = catalogue.check("first").faults
    assert loose.effects == {Adjustment.SADDLE_HEIGHT: Freedom.LOCKED}
    assert (loose.minutes.median_min, loose.minutes.p90_min) == (5.0, 10.0)
    assert (broken.hazard, broken.unreliable, broken.minutes) == (Hazard.DO_NOT_RIDE, True, None)
    assert catalogue.remedies["mend"].who is Who.WORKSHOP
    assert catalogue.check("second").conditions[0].unless
    assert catalogue.areas[0].sided
    assert catalogue.check("first").options[1].side is Side.LEFT
    assert catalogue.links == (Link("knee", "first.loose", Evidence.STUDY, "One study.", LinkSides.SAME),)


@pytest.mark.parametrize("case", BROKEN)
def test_each_mistake_is_named_by_its_key(case):
    """One mistake yields its own error, with the key in the attribute and in the message."""
    mistake, kind, key = BROKEN[case]
    document = copy.deepcopy(SOUND)
    mistake(document)
    problems = problems_of(document)
    assert (kind, key) in [(type(problem), problem.key) for problem in problems], [str(each) for each in problems]
    named = next(problem for problem in problems if problem.key == key)
    assert str(named) == f"{key}: {named.sentence}"


def test_every_mistake_is_reported_at_once():
    """An owner who edits the file mends it in one go."""
    cases = ("missing title", "unknown hazard", "negative lead", "p90 below median", "unknown answer")
    document = copy.deepcopy(SOUND)
    for case in cases:
        BROKEN[case][0](document)
    assert {problem.key for problem in problems_of(document)} == {BROKEN[case][2] for case in cases}


def test_a_circle_is_spelt_out():
    """The message shows who waits for whom."""
    document = copy.deepcopy(SOUND)
    BROKEN["circle"][0](document)
    (problem,) = problems_of(document)
    assert problem.cycle == ("first", "second", "first")


@pytest.mark.parametrize("raw", [b"version = ", b"\xff\xfe", b'version = "1"\nversion = "2"'])
def test_an_unreadable_file_says_so(tmp_path, raw):
    """Broken TOML, other encodings and a field given twice name the file."""
    path = tmp_path / "mine.toml"
    path.write_bytes(raw)
    with pytest.raises(errors.CatalogueError) as caught:
        load_catalogue(path)
    (problem,) = caught.value.problems
    assert (type(problem), problem.key) == (errors.UnreadableError, "mine.toml")


def test_a_missing_file_says_so(tmp_path):
    """The path's own name is in the message."""
    with pytest.raises(errors.CatalogueError, match=r"gone\.toml"):
        load_catalogue(tmp_path / "gone.toml")


def test_the_shipped_catalogue_is_read_once():
    """Every caller shares one frozen value; a path of one's own is read afresh."""
    assert load_catalogue() is load_catalogue()
    assert load_catalogue(SHIPPED) == load_catalogue()
    assert load_catalogue().version == "2026.2"
