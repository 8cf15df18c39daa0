"""The closing of a session: the page with all its sections, and the end itself."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from sessions.selectors.bench.records import Bench
from sessions.services.bench.errors import FitRefusal, SafetyOpenError
from sessions.services.bench.records import close_record
from sessions.views.bench.closing_page import safety_forms, show_closing
from sessions.views.bench.door import INVALID, refused, with_record


@staff_page
@require_safe
@with_record
def closing(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Show everything that ends a session."""
    return show_closing(request, bench)


@staff_page
@require_POST
@with_record
def close(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Close the record where the safety list is settled, and say at each line what is open where it is not."""
    try:
        mail = close_record(record=bench.record, by=request.user)
    except SafetyOpenError as refusal:
        return _still_open(request, bench, refusal)
    except FitRefusal as refusal:
        refused(request, refusal)
        return redirect("bench:home", bench.fit_session.pk)
    messages.success(request, _("The session is closed."))
    if mail is None:
        messages.warning(
            request, _("No private link is open, so the rider was not told. Make a new one on the client's page.")
        )
    return redirect("bench:home", bench.fit_session.pk)


def _still_open(request: HtmxRequest, bench: Bench, refusal: SafetyOpenError) -> HttpResponse:
    messages.error(request, str(refusal))
    forms = safety_forms(bench, closing=True)
    wrong = [form for form in forms if not form.is_valid()]
    return show_closing(request, bench, {"safety_forms": forms, "refused_forms": wrong}, INVALID)
