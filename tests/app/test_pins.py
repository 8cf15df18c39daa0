"""Every version is pinned in pyproject.toml, direct and transitive, since no lock file is committed."""

import tomllib
from importlib.metadata import distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
# What a virtual environment may bring by itself.
INSTALLERS = {"pip", "setuptools", "wheel", "uv"}


def pins():
    """Return the pinned version of every distribution that pyproject.toml names."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    lists = [
        project["project"]["dependencies"],
        *project["project"]["optional-dependencies"].values(),
        *project["dependency-groups"].values(),
        project["tool"]["uv"]["constraint-dependencies"],
    ]
    return [Requirement(line) for lines in lists for line in lines]


def installed():
    """Return the version of every distribution in this environment."""
    return {canonicalize_name(found.metadata["Name"]): found.version for found in distributions()}


def test_every_pin_is_exact():
    """A range would let two machines differ."""
    loose = [str(pin) for pin in pins() if [clause.operator for clause in pin.specifier] != ["=="]]
    assert loose == []


def test_nothing_is_pinned_twice():
    """Two pins of one distribution could disagree."""
    names = [canonicalize_name(pin.name) for pin in pins()]
    assert sorted(names) == sorted(set(names))


def test_every_installed_distribution_has_its_pin():
    """What runs here, down to the last transitive dependency, is what pyproject.toml says."""
    pinned = {canonicalize_name(pin.name): next(iter(pin.specifier)).version for pin in pins()}
    here = {name: version for name, version in installed().items() if name not in INSTALLERS}
    assert here == {name: pinned.get(name, "not pinned") for name in here}


@pytest.mark.parametrize("name", ["django", "granian", "pytest"])
def test_the_environment_is_the_projects(name):
    """The comparison would prove nothing about an empty environment."""
    assert name in installed()
