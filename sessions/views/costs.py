"""What remedies cost and how long they take at a studio: the owner's page, with what riders then read."""

from dataclasses import dataclass
from http import HTTPStatus

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from intake.catalogue.schema import Catalogue, Remedy, Who
from intake.edge.access import owner_page
from intake.edge.http import HtmxRequest
from intake.edge.money import cost_words
from intake.edge.words import WHO_LABELS
from intake.selectors.catalogue import current_catalogue
from intake.triage.red_flags import ADVICE
from intake.triage.terms import StudioTerms
from sessions.forms.costs import CostsForm, RemedyRow
from sessions.models import RemedyCosts, Studio
from sessions.models.costs import AMOUNT_FIELDS
from sessions.selectors.remedy_terms import terms_of
from sessions.services.costs import save_costs


@dataclass(frozen=True)
class Example:
    """How a remedy reads on a rider's page."""

    who: str
    title: str
    cost: str
    days: int


@owner_page
@require_http_methods(["GET", "HEAD", "POST"])
def costs(request: HtmxRequest, studio_slug: str = "") -> HttpResponse:
    """Show the terms of one studio, keep them, or show what they would look like."""
    studios = Studio.objects.select_related("remedy_costs").order_by("-is_active", "pk")
    studio = get_object_or_404(studios, slug=studio_slug) if studio_slug else studios.first()
    if studio is None:
        return redirect("desk:studio")
    remedies = settable(current_catalogue())
    data = request.POST if request.method == "POST" else None
    form = CostsForm(data, initial=_initial(studio), remedies=remedies, currency=studio.currency)
    if data is not None and form.is_valid() and "preview" not in data:
        save_costs(studio=studio, amounts=form.amounts(), terms=form.terms())
        messages.success(request, _("Kept. From now on plans and riders' pages go by it."))
        return redirect("costs:studio", studio.slug)
    refused = data is not None and not form.is_valid()
    terms = terms_of(studio) if data is None or refused else form.studio_terms()
    context = {
        "studio": studio,
        "studios": studios,
        "form": form,
        "groups": _groups(form),
        "examples": _examples(remedies, terms),
        "is_preview": data is not None and not refused,
        "section": "studio",
    }
    status = HTTPStatus.UNPROCESSABLE_ENTITY if refused else HTTPStatus.OK
    return render(request, "sessions/costs/page.html", context, status=status)


def _groups(form: CostsForm) -> list[tuple[str, list[RemedyRow], bool]]:
    """Return the remedies by who does them, and whether to show them at once."""
    groups = [(str(WHO_LABELS[who]), form.rows(who.value)) for who in (Who.WORKSHOP, Who.RIDER, Who.BRING, Who.STUDIO)]
    return [(label, rows, any(row.is_open for row in rows)) for label, rows in groups if rows]


def settable(catalogue: Catalogue) -> list[Remedy]:
    """Return the remedies of bikes: a clinician's time is not for a studio to set."""
    faults = [fault for check in catalogue.checks for fault in check.faults]
    used = {key for fault in faults if fault.hazard not in ADVICE for key in fault.remedies}
    return [remedy for key, remedy in catalogue.remedies.items() if key in used]


def _initial(studio: Studio) -> dict[str, object]:
    kept: RemedyCosts | None = getattr(studio, "remedy_costs", None)
    if kept is None:
        return {}
    amounts = {name: getattr(kept, name) for name in AMOUNT_FIELDS}
    bands = {f"band_{key}": own.get("cost", "") for key, own in kept.terms.items()}
    return amounts | bands | {f"days_{key}": own.get("lead_days") for key, own in kept.terms.items()}


def _examples(remedies: list[Remedy], terms: StudioTerms) -> list[Example]:
    """Return one remedy of each band, those with terms of their own first."""
    own = sorted(
        (terms.of(remedy) for remedy in remedies),
        key=lambda each: (each.key not in terms.remedies, each.who is not Who.WORKSHOP),
    )
    by_band = {}
    for remedy in own:
        by_band.setdefault(remedy.cost, remedy)
    return [
        Example(str(WHO_LABELS[each.who]), each.title, cost_words(each, terms), each.lead_days)
        for each in by_band.values()
    ]
