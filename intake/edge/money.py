"""What a remedy usually costs, in words: always as an estimate."""

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.catalogue.schema import CostBand, Remedy, Who
from intake.triage.terms import StudioTerms

BAND_LABELS = {
    CostBand.FREE: gettext_lazy("costs nothing"),
    CostBand.LOW: gettext_lazy("low cost"),
    CostBand.MIDDLE: gettext_lazy("middling cost"),
    CostBand.HIGH: gettext_lazy("high cost"),
}


def cost_words(remedy: Remedy, terms: StudioTerms) -> str:
    """Return what a remedy costs: in money where the studio has set its amounts, else its band's own word."""
    if remedy.cost not in terms.amounts:
        return str(BAND_LABELS[remedy.cost])
    usually = {"range": range_words([remedy.cost], terms)}
    if remedy.who is Who.WORKSHOP:
        return _("usually %(range)s at workshops here (an estimate)") % usually
    return _("usually %(range)s (an estimate)") % usually


def range_words(bands: list[CostBand], terms: StudioTerms) -> str:
    """Return what these bands cost together, from and to, in the studio's currency."""
    paid = [terms.amounts[band] for band in bands if band in terms.amounts]
    least, most = sum(each.from_ for each in paid), sum(each.to for each in paid)
    return _("%(least)s–%(most)s %(currency)s") % {
        "least": amount_words(least),
        "most": amount_words(most),
        "currency": terms.currency,
    }


def amount_words(amount: float) -> str:
    """Return an amount without idle decimals."""
    return number_format(amount, decimal_pos=0 if float(amount).is_integer() else 2)
