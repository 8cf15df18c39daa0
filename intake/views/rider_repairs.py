"""The rider's way to say what has been put right, by private link."""

from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from intake.edge.access import rider_page
from intake.edge.http import HtmxRequest
from intake.edge.uploads import takes_a_photo
from intake.models import RiderLink
from intake.views.door import rider_door
from intake.views.repairs import came_back, fixed_page, photo_file


@rider_page
@takes_a_photo
@require_http_methods(["GET", "HEAD", "POST"])
def fixed(request: HtmxRequest, link: RiderLink, finding_key: str) -> HttpResponse:
    """Say that a finding has been put right."""
    return fixed_page(request, rider_door(link), finding_key)


@rider_page
@require_POST
def back(request: HtmxRequest, link: RiderLink, finding_key: str) -> HttpResponse:
    """Say that a fault has come back."""
    return came_back(request, rider_door(link), finding_key)


@rider_page
@require_safe
def photo(request: HtmxRequest, link: RiderLink, photo_pk: int) -> HttpResponse:
    """Show one of the rider's own photos."""
    return photo_file(photo_pk, link.pre_visit_id)
