"""Fixtures that every layer of tests shares."""

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from intake.selectors.catalogue import forget
from tests import factories

settings.register_profile("steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("roaming", deadline=None, max_examples=1000, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))

BENCHMARKS = Path(__file__).parent / "benchmarks"


def benchmarks_are_asked_for(config):
    """Whether the command line names the benchmarks, which are no part of the ordinary suite."""
    named = (config.invocation_params.dir / argument.split("::")[0] for argument in config.args)
    return any(path.resolve().is_relative_to(BENCHMARKS) for path in named)


def pytest_ignore_collect(collection_path, config):
    """Leave the benchmarks out unless they are asked for."""
    if collection_path == BENCHMARKS and not benchmarks_are_asked_for(config):
        return True
    return None


def pytest_xdist_auto_num_workers(config):
    """Measure in one process, alone on the machine; everything else runs on every core."""
    return 0 if benchmarks_are_asked_for(config) else None


@pytest.fixture(autouse=True)
def shipped_catalogue():
    """Every test begins with the catalogue as it is shipped, whatever edition an earlier one put in force."""
    forget()


@pytest.fixture
def studio(db):
    """A studio that is open on weekdays, with two fitters and two bays."""
    return factories.studio_with_hours()


@pytest.fixture
def fit_session(studio):
    """A booked session some working days from now, with an unanswered check and an open link."""
    return factories.FitSessionFactory(studio=studio)


@pytest.fixture
def rider_link(fit_session):
    """The private link of the booked session's rider."""
    return factories.RiderLinkFactory(pre_visit=fit_session.pre_visit)


@pytest.fixture
def fitter_user(db):
    """A fitter who can log in."""
    return factories.UserFactory(role="fitter")


@pytest.fixture
def owner_user(db):
    """An owner who can log in and reach the admin."""
    return factories.UserFactory(role="owner")


@pytest.fixture
def fitter_client(client, fitter_user):
    """A browser in which a fitter is logged in."""
    client.force_login(fitter_user)
    return client
