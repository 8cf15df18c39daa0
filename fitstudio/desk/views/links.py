"""A rider's private link, when it was lost or fell into the wrong hands."""

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from fitstudio.desk.services import renew_link
from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.models import PreVisitCheck
from intake.services.links import revoke_links


def with_session() -> QuerySet[PreVisitCheck]:
    """Return the checks that belong to a session; a link without one would open nothing."""
    return PreVisitCheck.objects.select_related("client").filter(fit_session__isnull=False)


@staff_page
@require_POST
def renew(request: HtmxRequest, pre_visit_pk: int) -> HttpResponse:
    """Close the open links of a session and make a new one, mailed to the rider where that was asked for."""
    pre_visit = get_object_or_404(with_session(), pk=pre_visit_pk)
    by_mail = "mail" in request.POST
    renew_link(pre_visit=pre_visit, replaces=request.POST.get("replaces"), by_mail=by_mail)
    if by_mail:
        messages.success(request, _("A new link has been made and is on its way to %s.") % pre_visit.client.email)
    else:
        messages.success(request, _("A new link has been made. Earlier ones no longer open anything."))
    return redirect("desk:client", pk=pre_visit.client_id)


@staff_page
@require_POST
def revoke(request: HtmxRequest, pre_visit_pk: int) -> HttpResponse:
    """Close every link of a session."""
    pre_visit = get_object_or_404(with_session(), pk=pre_visit_pk)
    revoke_links(pre_visit=pre_visit)
    messages.success(request, _("The link no longer opens anything."))
    return redirect("desk:client", pk=pre_visit.client_id)
