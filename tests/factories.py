"""Rows for tests. Every model has one home here."""

from datetime import UTC, datetime, time, timedelta

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from fitstudio.accounts.models import User
from intake.models import (
    Bike,
    CatalogueEdition,
    CatalogueVersion,
    CheckAnswer,
    Client,
    Discomfort,
    JobLine,
    JobLink,
    JobSheet,
    OutgoingMail,
    Photo,
    PreVisitCheck,
    RepairReport,
    RiderLink,
    TriageSnapshot,
    Workshop,
)
from sessions.models import Bay, FitRecord, FitSession, Fitter, Occupancy, OpeningHours, Service, Studio

ESSENTIAL = ["saddle_height", "saddle_setback", "saddle_tilt", "bar_reach", "cleat_fore_aft"]


class UserFactory(DjangoModelFactory):
    class Meta:
        model = User
        skip_postgeneration_save = True

    username = factory.Sequence("staff{}".format)
    first_name = "Marit"
    last_name = "Solvang"
    password = factory.django.Password("correct horse battery")


class StudioFactory(DjangoModelFactory):
    class Meta:
        model = Studio

    name = "Wrenfield Cycle Fitting"
    slug = factory.Sequence("wrenfield-{}".format)
    email = "studio@wrenfield.example"
    time_zone = "Europe/London"
    address = "1 Millrace Yard\nWrenfield"


class FitterFactory(DjangoModelFactory):
    class Meta:
        model = Fitter

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence("Fitter {}".format)


class BayFactory(DjangoModelFactory):
    class Meta:
        model = Bay

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence("Bay {}".format)


class ServiceFactory(DjangoModelFactory):
    class Meta:
        model = Service

    studio = factory.SubFactory(StudioFactory)
    name = "Full fit"
    slug = factory.Sequence("full-fit-{}".format)
    purpose = "Saddle, bars and cleats, measured before and after."
    planned_min = 105
    slack_min = 15
    buffer_after_min = 15
    price = "180.00"
    essential = factory.LazyFunction(lambda: list(ESSENTIAL))


def studio_with_hours(**kwargs):
    """A studio open Monday to Friday, nine to five, with two fitters, two bays and one service."""
    studio = StudioFactory(**kwargs)
    OpeningHours.objects.bulk_create(
        OpeningHours(studio=studio, weekday=day, opens=time(9), closes=time(17)) for day in range(5)
    )
    FitterFactory.create_batch(2, studio=studio)
    BayFactory.create_batch(2, studio=studio)
    ServiceFactory(studio=studio, slug="full-fit")
    return studio


class ClientFactory(DjangoModelFactory):
    class Meta:
        model = Client

    name = factory.Sequence("Rider Tarnfell {}".format)
    email = factory.Sequence("rider{}@tarnfell.example".format)


class BikeFactory(DjangoModelFactory):
    class Meta:
        model = Bike

    client = factory.SubFactory(ClientFactory)
    name = "Blue road bike"
    kind = "road"


class PreVisitCheckFactory(DjangoModelFactory):
    class Meta:
        model = PreVisitCheck

    bike = factory.SubFactory(BikeFactory)
    client = factory.SelfAttribute("bike.client")


class RiderLinkFactory(DjangoModelFactory):
    class Meta:
        model = RiderLink

    pre_visit = factory.SubFactory(PreVisitCheckFactory)
    expires_at = factory.LazyFunction(lambda: timezone.now() + timedelta(days=400))


class CheckAnswerFactory(DjangoModelFactory):
    class Meta:
        model = CheckAnswer

    pre_visit = factory.SubFactory(PreVisitCheckFactory)
    catalogue_version = "2026.1"
    answered_at = factory.LazyFunction(timezone.now)


class DiscomfortFactory(DjangoModelFactory):
    class Meta:
        model = Discomfort

    pre_visit = factory.SubFactory(PreVisitCheckFactory)
    area = "neck"
    score = 4


class OutgoingMailFactory(DjangoModelFactory):
    class Meta:
        model = OutgoingMail

    key = factory.Sequence("test:{}".format)
    to = "rider@tarnfell.example"
    subject = "Your session"
    body = "See you soon."


def weekday_from_now(days, hour):
    """The first weekday at least ``days`` from today, at ``hour`` UTC."""
    day = timezone.now().astimezone(UTC).date() + timedelta(days=days)
    while day.weekday() > 4:
        day += timedelta(days=1)
    return datetime.combine(day, time(hour), UTC)


class FitSessionFactory(DjangoModelFactory):
    """A booked session with its occupancy. Pass ``starts_at`` where several share a fitter."""

    class Meta:
        model = FitSession
        skip_postgeneration_save = True

    studio = factory.LazyFunction(studio_with_hours)
    service = factory.LazyAttribute(lambda s: s.studio.services.first() or ServiceFactory(studio=s.studio))
    fitter = factory.LazyAttribute(lambda s: s.studio.fitters.first() or FitterFactory(studio=s.studio))
    bay = factory.LazyAttribute(lambda s: s.studio.bays.first() or BayFactory(studio=s.studio))
    pre_visit = factory.SubFactory(PreVisitCheckFactory)
    client = factory.SelfAttribute("pre_visit.client")
    bike = factory.SelfAttribute("pre_visit.bike")
    starts_at = factory.LazyFunction(lambda: weekday_from_now(14, 10))
    ends_at = factory.LazyAttribute(lambda s: s.starts_at + timedelta(minutes=s.service.length_min))
    planned_min = factory.LazyAttribute(lambda s: s.service.planned_min)
    slack_min = factory.LazyAttribute(lambda s: s.service.slack_min)
    buffer_before_min = factory.LazyAttribute(lambda s: s.service.buffer_before_min)
    buffer_after_min = factory.LazyAttribute(lambda s: s.service.buffer_after_min)

    @factory.post_generation
    def occupancy(self, create, extracted, **kwargs):
        if create and extracted is not False:
            first = int((self.starts_at - timedelta(minutes=self.buffer_before_min)).timestamp()) // 300
            last = int((self.ends_at + timedelta(minutes=self.buffer_after_min)).timestamp()) // 300
            Occupancy.objects.bulk_create(
                Occupancy(fit_session=self, fitter=self.fitter, bay=self.bay, quantum=q) for q in range(first, last)
            )


class FitRecordFactory(DjangoModelFactory):
    class Meta:
        model = FitRecord

    fit_session = factory.SubFactory(FitSessionFactory)


class TriageSnapshotFactory(DjangoModelFactory):
    """A session that may lose 10 minutes as likely as none. Pass ``moment``, ``verdict``, ``forecast`` where they matter."""

    class Meta:
        model = TriageSnapshot

    pre_visit = factory.SubFactory(PreVisitCheckFactory)
    moment = "booking"
    verdict = "clear"
    readiness_pct = 99.0
    chance_to_plan = 0.95
    expected_bench_min = 5.0
    planned_min = 90
    slack_min = 15
    forecast = factory.LazyFunction(lambda: [0.5, *[0.0] * 9, 0.5, *[0.0] * 230])
    prior_forecast = factory.SelfAttribute("forecast")
    catalogue_version = "2026.1"
    taken_at = factory.LazyFunction(timezone.now)


class PhotoFactory(DjangoModelFactory):
    """A row whose file holds a few bytes; what a rider's picture becomes, `intake.services.photos` knows."""

    class Meta:
        model = Photo

    pre_visit = factory.SubFactory(PreVisitCheckFactory)
    image = factory.django.FileField(data=b"a picture", filename="photo.jpg")
    width_px, height_px, size_bytes = 40, 30, 9
    digest = factory.Sequence("{:064x}".format)


class RepairReportFactory(DjangoModelFactory):
    class Meta:
        model = RepairReport

    pre_visit = factory.SubFactory(PreVisitCheckFactory)
    finding_key = "post_slides.stuck"
    source = "rider"
    outcome = "done"


class WorkshopFactory(DjangoModelFactory):
    class Meta:
        model = Workshop

    name = factory.Sequence("Lock Gate Repairs {}".format)
    email = "bench@lockgate.example"


class JobSheetFactory(DjangoModelFactory):
    class Meta:
        model = JobSheet

    pre_visit = factory.SubFactory(PreVisitCheckFactory)
    workshop_name = "Lock Gate Repairs"
    workshop_email = "bench@lockgate.example"


class JobLineFactory(DjangoModelFactory):
    class Meta:
        model = JobLine

    job_sheet = factory.SubFactory(JobSheetFactory)
    position = factory.Sequence(lambda number: number + 1)
    finding_key = "post_slides.stuck"
    title = "Seatpost stuck in the frame"
    wrong = "The rider, at home: “It does not move at all”."
    needs = "Saddle height: the post must slide freely."
    lead_days = 7


class JobLinkFactory(DjangoModelFactory):
    class Meta:
        model = JobLink

    job_sheet = factory.SubFactory(JobSheetFactory)
    expires_at = factory.LazyFunction(lambda: timezone.now() + timedelta(days=30))


OWN_CHECK_OVERLAY = {
    "own_checks": [
        {
            "key": "own_rack",
            "group": "whole",
            "title": "Rack",
            "question": "Is a rack fitted?",
            "why": "It is in the way of the measuring.",
            "steps": ["Look behind the saddle."],
            "tools": [],
            "home_min": 1.0,
            "options": [
                {"key": "answer_1", "label": "No"},
                {"key": "answer_2", "label": "Yes", "faults": {"fault": 1.0}},
            ],
            "faults": [
                {
                    "key": "fault",
                    "title": "Rack fitted",
                    "rider_text": "It has to come off.",
                    "rate": 0.1,
                    "remedies": ["own_rack_remedy"],
                }
            ],
        }
    ],
    "own_remedies": [
        {"key": "own_rack_remedy", "who": "rider", "title": "Take it off", "detail": "Two bolts.", "lead_days": 1}
    ],
}


class CatalogueEditionFactory(DjangoModelFactory):
    """An edition in force; give a draft ``state="draft", published_at=None``."""

    class Meta:
        model = CatalogueEdition

    number = factory.Sequence(lambda place: place + 1)
    state = "in_force"
    base_version = "2026.2"
    made_at = factory.LazyFunction(timezone.now)
    published_at = factory.LazyFunction(timezone.now)


class CatalogueVersionFactory(DjangoModelFactory):
    class Meta:
        model = CatalogueVersion

    version = factory.Sequence("2026.2+{}".format)
    digest = "x"
    document = factory.LazyFunction(dict)
    words = factory.LazyFunction(dict)
    kept_at = factory.LazyFunction(timezone.now)
