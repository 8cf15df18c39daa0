"""The demo's owner has made the catalogue theirs: one check reworded, one switched off, one of their own."""

from datetime import time
from typing import Any

from fitstudio.accounts.models import User
from fitstudio.demo.clock import clock_at
from fitstudio.demo.days import DemoDays
from intake.services.editions import change_draft, keep_current_version, publish

DAYS_AGO, AFTER_HOURS = 45, time(18, 10)
REWORDED: dict[str, Any] = {
    "cleanliness": {
        "why": "We measure to the millimetre and touch every bolt. A clean bike saves you ten minutes of your session.",
        "home_min": 4.0,
    }
}
OWN_CHECK: dict[str, Any] = {
    "key": "own_mudguards_rack_or_bags",
    "group": "whole",
    "title": "Mudguards, rack or bags",
    "question": "Is anything fitted around the saddle or the rear wheel?",
    "why": "Our trainer holds the rear axle, and we measure along the seatpost. Both must be free.",
    "steps": ["Look at the rear wheel and under the saddle.", "Try whether the parts come off without tools."],
    "tools": [],
    "home_min": 1.0,
    "options": [
        {"key": "answer_1", "label": "Nothing is fitted, or it comes off by hand"},
        {"key": "answer_2", "label": "Something stays on without tools", "faults": {"fault": 1.0}},
        {"key": "answer_3", "label": "I am not sure what is in the way", "faults": {"fault": 0.4}},
    ],
    "faults": [
        {
            "key": "fault",
            "title": "Mudguards, rack or bags in the way",
            "rider_text": "Something is in the way of the trainer or of the measuring.",
            "rate": 0.12,
            "minutes": {"median_min": 5.0, "p90_min": 10.0},
            "remedies": ["own_mudguards_rack_or_bags_remedy"],
        }
    ],
}
OWN_REMEDY: dict[str, Any] = {
    "key": "own_mudguards_rack_or_bags_remedy",
    "who": "rider",
    "title": "Take it off before you come",
    "detail": "Take off what is in the way and leave it at home. If a bolt does not turn, leave it and tell us.",
    "lead_days": 1,
    "cost": "free",
}


def publish_edition(*, owner: User, days: DemoDays) -> None:
    """Publish the studio's first edition, some weeks ago."""
    overlay = {"off": ["axle_standard"], "checks": REWORDED, "own_checks": [OWN_CHECK], "own_remedies": [OWN_REMEDY]}
    with clock_at(days.ago(DAYS_AGO, AFTER_HOURS)):
        keep_current_version()
        draft = change_draft(change=lambda _overlay: overlay, by=owner)
        note = "Our trainer takes every axle; racks and mudguards cost us time."
        publish(number=draft.number, revision=draft.revision, note=note, by=owner)
