"""Times, lengths and prices of the diary in templates."""

from decimal import Decimal

from django import template
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from sessions.forms.fields import utc_mark

register = template.Library()
register.filter("utc_mark", utc_mark)

SYMBOLS = {"GBP": "£", "EUR": "€", "USD": "$"}


@register.filter
def duration(minutes: int) -> str:
    """Return a length of time as people say it.

    >>> duration(120), duration(105), duration(45)
    ('2 h', '1 h 45 min', '45 min')
    """
    hours, rest = divmod(minutes, 60)
    parts = [_("%(hours)d h") % {"hours": hours}] if hours else []
    if rest or not hours:
        parts.append(_("%(minutes)d min") % {"minutes": rest})
    return " ".join(parts)


@register.filter
def money(price: Decimal, currency: str) -> str:
    """Return a price with the sign of its currency, or its three letters where it has none here.

    >>> money(Decimal("180"), "GBP"), money(Decimal("180"), "SEK")
    ('£180.00', '180.00 SEK')
    """
    amount = number_format(price, decimal_pos=2, force_grouping=True)
    symbol = SYMBOLS.get(currency)
    return f"{symbol}{amount}" if symbol else f"{amount} {currency}"
