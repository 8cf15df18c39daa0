"""What the desk's pages read."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Count, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.utils import timezone

from fitstudio.accounts.models import User
from fitstudio.context import first_studio
from intake.models import Client, MailAttachment, OutgoingMail
from intake.selectors.clients import matching_clients
from intake.selectors.links import open_links
from sessions.diary.states import SessionState
from sessions.models import FitSession, Studio


def studio_of(user: User) -> Studio:
    """Return the studio in which somebody works as a fitter, else the first that is open."""
    own = Studio.objects.filter(fitters__user=user).first()
    return own or first_studio()


def shown_sessions() -> QuerySet[FitSession]:
    """Return sessions with everything that one line about them shows."""
    return FitSession.objects.select_related(
        "client", "bike", "fitter", "bay", "service", "pre_visit__summary", "fit_record"
    )


def day_bounds(day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the first moment of a local day and that of the next; a day of a clock change is not 24 hours long.

    >>> start, end = day_bounds(date(2027, 3, 28), ZoneInfo("Europe/London"))
    >>> (end.timestamp() - start.timestamp()) / 3600
    23.0
    """
    return datetime.combine(day, time(), zone), datetime.combine(day + timedelta(days=1), time(), zone)


def sessions_of_day(studio: Studio, day: date) -> QuerySet[FitSession]:
    """Return the sessions that start on a local day, earliest first."""
    start, end = day_bounds(day, studio.zone)
    return shown_sessions().filter(studio_id=studio.pk, starts_at__gte=start, starts_at__lt=end)


def found_clients(typed: str) -> QuerySet[Client]:
    """Return the clients in whom every word of what was typed is found, each with its next and its last session."""
    now = timezone.now()
    kept = FitSession.objects.filter(client=OuterRef("pk")).exclude(state=SessionState.CANCELLED)
    return matching_clients(typed).annotate(
        next_start=Subquery(kept.filter(starts_at__gte=now).order_by("starts_at").values("starts_at")[:1]),
        last_start=Subquery(kept.filter(starts_at__lt=now).order_by("-starts_at").values("starts_at")[:1]),
    )


def sessions_of_client(client: Client) -> QuerySet[FitSession]:
    """Return a client's sessions, the latest first, each check with its open links."""
    return (
        shown_sessions()
        .filter(client=client)
        .select_related("studio")
        .prefetch_related(Prefetch("pre_visit__links", queryset=open_links(), to_attr="open_links"))
        .order_by("-starts_at")
    )


def outbox(*, typed: str = "", state: str = "", client_pk: int | None = None) -> QuerySet[OutgoingMail]:
    """Return mails, the latest first, narrowed to an address or a subject, a state, a client."""
    names_only = MailAttachment.objects.defer("content")
    mails = OutgoingMail.objects.select_related("client").prefetch_related(Prefetch("attachments", queryset=names_only))
    if typed:
        mails = mails.filter(Q(to__icontains=typed) | Q(subject__icontains=typed))
    if state:
        mails = mails.filter(state=state)
    if client_pk is not None:
        mails = mails.filter(client_id=client_pk)
    return mails


def mails_by_state() -> dict[str, int]:
    """Return how many mails stand in each state."""
    return dict(OutgoingMail.objects.order_by().values_list("state").annotate(Count("pk")))
