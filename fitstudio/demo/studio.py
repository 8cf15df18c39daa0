"""Load the demo studio: its rooms, people and services, and two weeks of its life around today."""

from datetime import date, datetime, timedelta
from typing import Any

from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from fitstudio.accounts.models import User
from fitstudio.demo.days import demo_days
from fitstudio.demo.files import read
from fitstudio.demo.past import play_past
from fitstudio.demo.story import play
from sessions.models import Bay, Closure, FitSession, Fitter, OpeningHours, Service, Studio
from sessions.services.review.moments import keep_due_moments
from sessions.services.review.summaries import refresh_stale

FRIDAY = 4


def is_empty() -> bool:
    """Whether there is no studio yet."""
    return not Studio.objects.exists()


def is_out_of_date() -> bool:
    """Whether every session lies in the past."""
    return not FitSession.objects.filter(starts_at__gt=timezone.now()).exists()


@transaction.atomic
def load_demo_studio() -> Studio:
    """Write the studio and play its last weeks; all of it or nothing."""
    given, now = read("studio.toml"), timezone.now()
    studio = _studio(given["studio"], now)
    staff = _staff(given["staff"], studio)
    for position, service in enumerate(given["services"]):
        Service.objects.create(studio=studio, position=position, **service)
    play_past(studio=studio, staff=staff, now=now)
    play(read("riders.toml")["riders"], studio=studio, staff=staff, days=demo_days(studio, now))
    # What was judged on a day of the story is judged again by what is known and still possible today.
    refresh_stale(limit=FitSession.objects.count())
    keep_due_moments(limit=FitSession.objects.count())
    # Every mail of the story went at its time: the worker finds nothing left of it to do.
    DBTaskResult.objects.all().delete()
    return studio


def _studio(given: dict[str, Any], now: datetime) -> Studio:
    hours, closure, bays = given.pop("hours"), given.pop("closure"), given.pop("bays")
    studio = Studio.objects.create(**given)
    OpeningHours.objects.bulk_create(OpeningHours(studio=studio, **each) for each in hours)
    day = _weekday_from(now.astimezone(studio.zone).date() + timedelta(days=closure["in_days"]))
    Closure.objects.create(studio=studio, first_day=day, last_day=day, reason=closure["reason"])
    for name in bays:
        Bay.objects.create(studio=studio, name=name)
    return studio


def _weekday_from(day: date) -> date:
    while day.weekday() > FRIDAY:
        day += timedelta(days=1)
    return day


def _staff(given: dict[str, Any], studio: Studio) -> dict[str, User]:
    password = make_password(given["password"])
    staff = {}
    for person in given["people"]:
        fits = person.pop("fits", False)
        user = User.objects.create(password=password, **person)
        staff[user.username] = user
        if fits:
            Fitter.objects.create(studio=studio, user=user, name=user.display_name)
    return staff
