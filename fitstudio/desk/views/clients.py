"""Find a client, see all that belongs to them, and keep it right."""

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from fitstudio.desk.forms import ClientForm, ClientSearchForm
from fitstudio.desk.selectors import found_clients, outbox, sessions_of_client
from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.models import Client
from intake.selectors.links import open_links
from intake.services.clients import save_client

CLIENTS_A_PAGE = 25
LATEST_MAILS = 10


@staff_page
@require_safe
def clients(request: HtmxRequest) -> HttpResponse:
    """List clients by name; the search looks at name, e-mail and telephone."""
    form = ClientSearchForm(request.GET)
    typed = form.cleaned_data["q"] if form.is_valid() else ""
    found = found_clients(typed) if form.is_valid() else Client.objects.none()
    page = Paginator(found, CLIENTS_A_PAGE).get_page(request.GET.get("page"))
    context = {"form": form, "page": page, "typed": typed, "section": "clients"}
    template = "desk/clients/_list.html" if request.htmx else "desk/clients/page.html"
    return render(request, template, context, status=422 if form.errors else 200)


@staff_page
@require_safe
def client(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show one client: details, bikes, sessions with their private links, and the latest mails."""
    person = get_object_or_404(Client, pk=pk)
    context = {
        "person": person,
        "bikes": person.bikes.all(),
        "fit_sessions": sessions_of_client(person),
        "mails": outbox(client_pk=person.pk)[:LATEST_MAILS],
        "site_url": settings.SITE_URL,
        "section": "clients",
    }
    return render(request, "desk/clients/client.html", context)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def edit_client(request: HtmxRequest, pk: int) -> HttpResponse:
    """Change a client's details."""
    person = get_object_or_404(Client, pk=pk)
    form = ClientForm(request.POST or None, instance=person)
    if request.method == "POST" and form.is_valid():
        save_client(client=form.save(commit=False))
        messages.success(request, _("Saved."))
        if "email" in form.changed_data and open_links().filter(pre_visit__client=person).exists():
            messages.warning(
                request, _("Earlier mails went to the old address. If somebody else reads it, make new links below.")
            )
        return redirect("desk:client", pk=pk)
    context = {"form": form, "person": Client.objects.get(pk=pk), "section": "clients"}
    return render(request, "desk/clients/edit.html", context, status=422 if form.errors else 200)
