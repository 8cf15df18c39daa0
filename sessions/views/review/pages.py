"""The review list, and the triage of one session."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.triage.verdict import Verdict
from sessions.forms.review.decisions import ReviewFilterForm
from sessions.selectors.review.listing import PAGE_LENGTH, due_groups, review_counts, review_rows, review_sessions
from sessions.services.review.summaries import refresh_stale
from sessions.views.review.answer import reviewed, show_session


@staff_page
@require_GET
def review_list(request: HtmxRequest) -> HttpResponse:
    """Show coming sessions, what needs a decision soonest first."""
    refresh_stale()
    now, shown, verdict = timezone.now(), *_filters(request)
    due_only = shown == "due"
    counts = review_counts(now, due_only=due_only)
    fit_sessions = review_sessions(now, due_only=due_only, verdict=verdict)
    page = Paginator(fit_sessions, PAGE_LENGTH).get_page(request.GET.get("page"))
    context = {
        "groups": due_groups(review_rows(page.object_list, now)),
        "page": page,
        "shown": shown,
        "verdict": verdict,
        "counts": counts,
        "verdicts": [(each.value, counts[each.value]) for each in Verdict if counts[each.value]],
        "section": "review",
    }
    return render(request, "sessions/review/list.html", context)


def _filters(request: HtmxRequest) -> tuple[str, str]:
    """Return what to show; an address that names something else shows what needs a decision."""
    form = ReviewFilterForm(request.GET)
    form.is_valid()
    return form.cleaned_data.get("show") or "due", form.cleaned_data.get("verdict") or ""


@staff_page
@require_GET
def session(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show the triage of one session and what can be decided."""
    return show_session(request, reviewed(pk))
