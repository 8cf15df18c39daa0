"""The outbox as a page: what was written to whom, whether it went, and what hangs on it."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from fitstudio.desk.forms import MailSearchForm
from fitstudio.desk.selectors import mails_by_state, outbox
from fitstudio.desk.services import try_again
from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.models import MailAttachment, OutgoingMail

MAILS_A_PAGE = 20
# Anything else is handed over as a file of unknown kind, so that no browser runs it.
KNOWN_KINDS = ("text/calendar", "application/pdf")


@staff_page
@require_safe
def mail(request: HtmxRequest) -> HttpResponse:
    """List mails, the latest first, with addresses to follow and files to open."""
    form = MailSearchForm(request.GET)
    asked = form.cleaned_data if form.is_valid() else {}
    mails = outbox(typed=asked.get("q", ""), state=asked.get("state", ""), client_pk=asked.get("client"))
    page = Paginator(mails if form.is_valid() else mails.none(), MAILS_A_PAGE).get_page(request.GET.get("page"))
    context = {"form": form, "page": page, "counts": mails_by_state(), "section": "mail"}
    template = "desk/mail/_list.html" if request.htmx else "desk/mail/page.html"
    return render(request, template, context, status=422 if form.errors else 200)


@staff_page
@require_POST
def send_again(request: HtmxRequest, pk: int) -> HttpResponse:
    """Try a mail again that was given up."""
    if try_again(mail=get_object_or_404(OutgoingMail, pk=pk)):
        messages.success(request, _("It will be tried again now."))
    else:
        messages.info(request, _("It has not been given up, so there is nothing to try again."))
    return redirect("desk:mail")


@staff_page
@require_safe
def attachment(request: HtmxRequest, pk: int) -> HttpResponse:
    """Hand over a file that went with a mail."""
    file = get_object_or_404(MailAttachment, pk=pk)
    kind = file.media_type.partition(";")[0].strip()
    known = file.media_type if kind in KNOWN_KINDS else "application/octet-stream"
    headers = {"Content-Disposition": content_disposition_header(as_attachment=True, filename=file.filename)}
    return HttpResponse(bytes(file.content), content_type=known, headers=headers)
