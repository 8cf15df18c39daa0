"""The mail about the fit sheet speaks of what is over, not of an appointment."""

import pytest
from django.conf import settings

from intake.models import RiderLink
from sessions.services.bench.mail import tell_sheet_ready

pytestmark = pytest.mark.django_db


def test_it_leads_to_the_sheet_and_says_whom_to_tell(fit_session, rider_link):
    """Both addresses, the caution, and nothing about moving or cancelling."""
    mail = tell_sheet_ready(fit_session=fit_session)
    assert f"{settings.SITE_URL}/r/{rider_link.token}/fit-sheet/" in mail.body
    assert "belongs with a doctor or physiotherapist" in mail.body
    assert "If something does not feel right, tell us: studio@wrenfield.example" in mail.body
    assert "move or cancel" not in mail.body
    assert mail.body.count(f"{settings.SITE_URL}/r/{rider_link.token}/\n") == 1


def test_without_an_open_link_there_is_nothing_to_send(fit_session, rider_link):
    """A mail that opens nothing helps nobody."""
    RiderLink.objects.all().delete()
    assert tell_sheet_ready(fit_session=fit_session) is None
