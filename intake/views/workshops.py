"""The studio's list of workshops, kept by the desk."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.forms.workshops import WorkshopForm
from intake.models import Workshop
from intake.selectors.workshops import all_workshops
from intake.services.workshops import WorkshopKnownError, save_workshop, set_in_use


@staff_page
@require_safe
def workshops(request: HtmxRequest) -> HttpResponse:
    """List the workshops, those in use first."""
    return render(request, "intake/workshops/list.html", {"workshops": all_workshops(), "section": "studio"})


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HtmxRequest) -> HttpResponse:
    """Add a workshop."""
    return _edit(request, Workshop())


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HtmxRequest, workshop_pk: int) -> HttpResponse:
    """Change what is kept about a workshop."""
    return _edit(request, get_object_or_404(Workshop, pk=workshop_pk))


def _edit(request: HtmxRequest, workshop: Workshop) -> HttpResponse:
    form = WorkshopForm(request.POST or None, instance=workshop)
    if request.method == "POST" and form.is_valid() and _kept(form):
        messages.success(request, _("Saved."))
        return redirect("workshops:list")
    known = Workshop.objects.filter(pk=workshop.pk).first()
    context = {"form": form, "workshop": known, "section": "studio"}
    return render(request, "intake/workshops/edit.html", context, status=422 if form.is_bound else 200)


def _kept(form: WorkshopForm) -> bool:
    try:
        save_workshop(workshop=form.save(commit=False))
    except WorkshopKnownError:
        form.refuse_name()
        return False
    return True


@staff_page
@require_POST
def use(request: HtmxRequest, workshop_pk: int) -> HttpResponse:
    """Retire a workshop, or bring it back."""
    workshop = get_object_or_404(Workshop, pk=workshop_pk)
    in_use = request.POST.get("use") == "yes"
    set_in_use(workshop=workshop, in_use=in_use)
    told = _("%(name)s can be chosen again.") if in_use else _("%(name)s is retired. Its job sheets stay.")
    messages.success(request, told % {"name": workshop.name})
    return redirect("workshops:list")
