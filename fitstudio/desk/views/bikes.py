"""The bikes of a client."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from fitstudio.desk.forms import BikeForm
from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.models import Bike, Client


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def new_bike(request: HtmxRequest, pk: int) -> HttpResponse:
    """Add a bike to a client."""
    return _bike_page(request, Bike(client=get_object_or_404(Client, pk=pk)))


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def edit_bike(request: HtmxRequest, pk: int, bike_pk: int) -> HttpResponse:
    """Change what is known of a client's bike."""
    return _bike_page(request, get_object_or_404(get_object_or_404(Client, pk=pk).bikes, pk=bike_pk))


def _bike_page(request: HtmxRequest, bike: Bike) -> HttpResponse:
    person, name = bike.client, bike.name
    form = BikeForm(request.POST or None, instance=bike)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Saved."))
        return redirect("desk:client", pk=person.pk)
    context = {"form": form, "person": person, "bike_name": name, "section": "clients"}
    return render(request, "desk/clients/bike.html", context, status=422 if form.errors else 200)
