"""What remedies cost around the demo's studio."""

from sessions.models import Studio
from sessions.services.costs import save_costs

AMOUNTS = {"low_from": 15, "low_to": 45, "middle_from": 45, "middle_to": 110, "high_from": 110, "high_to": 260}
# A workshop two streets away takes bolts and gears within two days, and frees a post within five.
TERMS = {
    "workshop_bolts": {"lead_days": 2},
    "workshop_gears": {"lead_days": 2},
    "workshop_frees_post": {"lead_days": 5},
    "workshop_hoses": {"cost": "low"},
}


def set_costs(studio: Studio) -> None:
    """Let the studio say what a band is in money, and which remedies are quicker or cheaper near it."""
    save_costs(studio=studio, amounts=AMOUNTS, terms=TERMS)
