"""A rider says that something has been put right, or that it has come back, and sees their own photos."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from intake.edge.http import HtmxRequest
from intake.forms.repairs import FixedForm
from intake.models import Photo
from intake.selectors.previsit import check_list
from intake.selectors.repair_marks import finding_to_fix
from intake.services.photos import TooManyPhotosError
from intake.services.repairs import report_back, report_fixed
from intake.triage.findings import Finding
from intake.views.door import Door, show, until_the_slot


@until_the_slot
def fixed_page(request: HtmxRequest, door: Door, key: str) -> HttpResponse:
    """Ask who has put a finding right, with a note and a photo, and keep it."""
    finding = finding_to_fix(check_list(door.pre_visit, door.slot), key)
    if finding is None:
        messages.info(request, _("That is not on the list any more. Here is the list as it is now."))
        return door.go("advice")
    if request.method != "POST":
        return _show(request, door, finding, FixedForm())
    form = FixedForm(request.POST, request.FILES)
    if form.is_valid() and _kept(door, finding, form):
        messages.success(request, _("Thank you. The studio sees that this is done."))
        return door.go("advice", fragment="repaired")
    return _show(request, door, finding, form, status=422)


def _kept(door: Door, finding: Finding, form: FixedForm) -> bool:
    said = form.cleaned_data
    try:
        report_fixed(
            pre_visit=door.pre_visit,
            session_slot=door.slot,
            finding_key=finding.key,
            done_by=said["done_by"],
            note=said["note"],
            picture=said["photo"],
        )
    except TooManyPhotosError:
        form.add_error("photo", _("There are as many photos as the studio can look at. Please send it without one."))
        return False
    return True


def _show(request: HtmxRequest, door: Door, finding: Finding, form: FixedForm, status: int = 200) -> HttpResponse:
    return show(request, door, "fixed.html", {"finding": finding, "form": form}, status=status)


@until_the_slot
def came_back(request: HtmxRequest, door: Door, key: str) -> HttpResponse:
    """Keep that a fault has come back."""
    if finding_to_fix(check_list(door.pre_visit, door.slot), key) is not None:
        report_back(pre_visit=door.pre_visit, session_slot=door.slot, finding_key=key)
        messages.success(request, _("It is on the list again."))
    return door.go("advice")


def photo_file(photo_pk: int, pre_visit_pk: int) -> HttpResponse:
    """Return one photo of one check: for this browser alone, as a picture and nothing else."""
    photo = get_object_or_404(Photo, pk=photo_pk, pre_visit=pre_visit_pk)
    try:
        with photo.image.open("rb") as file:
            content = file.read()
    except FileNotFoundError as missing:
        raise Http404 from missing
    headers = {
        "Content-Disposition": f'inline; filename="photo-{photo.pk}.jpg"',
        "X-Content-Type-Options": "nosniff",
        "Content-Security-Policy": "default-src 'none'; sandbox",
    }
    return HttpResponse(content, content_type="image/jpeg", headers=headers)
