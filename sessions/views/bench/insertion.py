"""Whether a seat post is far enough in the frame: worked out on the spot, nothing is kept."""

from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.edge.words import typed_length
from intake.models.bikes import PostKind
from sessions.forms.bench.details import InsertionForm
from sessions.geometry.errors import InsertionError
from sessions.geometry.insertion import check_insertion, least_insertion
from sessions.selectors.bench.records import Bench, bench_of
from sessions.sheets.numbers import NumberStyle
from sessions.views.bench.door import INVALID, show, unit_of


@staff_page
@require_safe
def insertion(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show the form, and the answer where enough is known."""
    bench, unit = bench_of(pk), unit_of(request)
    is_asked = "inserted_mm" in request.GET
    form = InsertionForm(request.GET if is_asked else None, typed_in=unit, initial=_known(bench, unit))
    context = {"form": form, "step_key": "after", "stores_nothing": True, "has_general_rule": _has_general_rule(bench)}
    if is_asked and form.is_valid():
        context |= _answer(form, NumberStyle(unit))
    status = INVALID if is_asked and form.errors else 200
    return show(request, bench, "insertion/page.html", context, status=status)


def _known(bench: Bench, unit: str) -> dict[str, str]:
    diameter_mm = bench.fit_session.bike.post_diameter_mm
    return {"diameter_mm": typed_length(diameter_mm, unit)} if diameter_mm and _has_general_rule(bench) else {}


def _has_general_rule(bench: Bench) -> bool:
    return bench.fit_session.bike.post_kind in {"", PostKind.ROUND, PostKind.DROPPER}


def _answer(form: InsertionForm, style: NumberStyle) -> dict[str, object]:
    given = form.cleaned_data
    try:
        least = least_insertion(given["diameter_mm"], marked_mm=given["marked_mm"], frame_mm=given["frame_mm"])
        spare_mm = check_insertion(given["inserted_mm"], least)
    except InsertionError as error:
        return {"refusal": error.sentence}
    told = _("At least %(least)s %(unit)s must be inside (%(source)s). %(spare)s %(unit)s more could come out.")
    lengths = {"least": style.length(least.least_mm), "spare": style.length(spare_mm)}
    return {"told": told % {**lengths, "unit": style.unit, "source": least.source}}
