"""The day at a glance: who comes, what they need, and what must be decided first."""

from datetime import date, timedelta

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fitstudio.desk.forms import DayForm
from fitstudio.desk.selectors import sessions_of_day, studio_of
from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.selectors.catalogue import serving
from sessions.selectors.chasing.ringing import to_ring
from sessions.selectors.review.listing import review_rows, review_sessions
from sessions.selectors.setup import setup_so_far

MOST_DUE = 6


@staff_page
@require_safe
def home(request: HtmxRequest) -> HttpResponse:
    """Show one day's sessions, today's unless another is named, and the decisions that are due soonest."""
    studio = studio_of(request.user)
    form = DayForm(request.GET or None)
    now = timezone.now()
    today = now.astimezone(studio.zone).date()
    day = (form.is_valid() and form.cleaned_data["day"]) or today
    due = review_sessions(now, due_only=True)
    context = {
        "studio": studio,
        "form": form,
        "day": day,
        "today": today,
        **neighbours(day),
        "fit_sessions": sessions_of_day(studio, day),
        "due": review_rows(due[:MOST_DUE], now),
        "due_count": due.count(),
        "to_ring": to_ring(now),
        "setup": setup_so_far(),
        "serving": serving(),
    }
    return render(request, "desk/home/page.html", context, status=422 if form.errors else 200)


def neighbours(day: date) -> dict[str, date]:
    """Return the days to step to."""
    return {"day_before": day - timedelta(days=1), "day_after": day + timedelta(days=1)}
