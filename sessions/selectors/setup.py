"""What a studio still lacks before anybody can book there."""

from dataclasses import dataclass
from enum import StrEnum

from django.db.models import Exists, OuterRef

from sessions.models import Bay, Fitter, OpeningHours, Service, Studio


class Gap(StrEnum):
    """Something without which no time is free."""

    HOURS = "hours"
    FITTER = "fitter"
    BAY = "bay"
    SERVICE = "service"


@dataclass(frozen=True)
class Unready:
    """A studio that is open for booking and cannot be booked."""

    studio: Studio
    gaps: tuple[Gap, ...]

    @property
    def needs_more_than_a_service(self) -> bool:
        """Return whether something is missing that is set on the studio's own page."""
        return self.gaps != (Gap.SERVICE,)


@dataclass(frozen=True)
class Setup:
    """How far the studios are set up."""

    has_studio: bool
    unready: tuple[Unready, ...]

    @property
    def is_complete(self) -> bool:
        """Return whether every open studio can be booked, and there is one."""
        return self.has_studio and not self.unready


def setup_so_far() -> Setup:
    """Return what the open studios lack: one query."""
    own = {"studio": OuterRef("pk")}
    studios = Studio.objects.filter(is_active=True).annotate(
        has_hours=Exists(OpeningHours.objects.filter(**own)),
        has_fitter=Exists(Fitter.objects.filter(is_active=True, **own)),
        has_bay=Exists(Bay.objects.filter(is_active=True, **own)),
        has_service=Exists(Service.objects.filter(is_active=True, **own)),
    )
    found = [Unready(studio, _gaps(studio)) for studio in studios]
    return Setup(bool(found), tuple(each for each in found if each.gaps))


def _gaps(studio: Studio) -> tuple[Gap, ...]:
    return tuple(gap for gap in Gap if not getattr(studio, f"has_{gap.value}"))
