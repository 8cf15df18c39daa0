"""What hurt has gone or eased since a repair: the fit may not be needed, or a shorter service may do."""

from dataclasses import dataclass

from intake.models import OutgoingMail
from intake.selectors.outcomes import AfterRepair, all_eased
from intake.triage.answers import TriageInput
from sessions.models import FitSession, Service

OCCASION = "eased:"


@dataclass(frozen=True)
class Eased:
    """The places that have eased, whether that is all of them, shorter services of the studio, and the letter if one was sent."""

    places: tuple[AfterRepair, ...]
    is_all: bool
    shorter: tuple[Service, ...]
    letter: OutgoingMail | None


def letter_key(fit_session: FitSession, places: tuple[AfterRepair, ...]) -> str:
    """Return what names the occasion of a letter: this session, and what the rider said last."""
    return f"{OCCASION}{fit_session.uid}:{max(place.last.pk for place in places)}"


def eased_of(fit_session: FitSession, given: TriageInput, after: tuple[AfterRepair, ...]) -> Eased | None:
    """Return what has eased, None where nothing has: no query then, else two."""
    places = tuple(each for each in after if each.went)
    if not places:
        return None
    return Eased(
        places=places,
        is_all=all_eased(given, after),
        shorter=shorter_services(fit_session),
        letter=OutgoingMail.objects.filter(key=letter_key(fit_session, places)).first(),
    )


def shorter_services(fit_session: FitSession) -> tuple[Service, ...]:
    """Return the studio's services that take less time than the one that is booked, the longest first."""
    services = Service.objects.filter(studio=fit_session.studio_id, is_active=True).exclude(pk=fit_session.service_id)
    shorter = [each for each in services if each.length_min < fit_session.service.length_min]
    return tuple(sorted(shorter, key=lambda each: -each.length_min))
