"""Who comes, with which bike, what they answer, and what the fitter decides: everything said before the session."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from intake.triage.answers import Ruling

# ── The slot ─────────────────────────────────────────────────────────────────────────────────────────────────────────

BOOKED_AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)  # a Monday
# After the clocks change on 29 March: ten by the studio's clock is nine in UTC. Good Friday is only on 3 April.
STARTS_AT = datetime(2026, 3, 31, 10, 0, tzinfo=ZoneInfo("Europe/London"))
PLANNED_MIN, SLACK_MIN, EXTRA_MIN = 105, 15, 15
ENDS_AT = STARTS_AT + timedelta(minutes=PLANNED_MIN + SLACK_MIN)

# ── The rider ────────────────────────────────────────────────────────────────────────────────────────────────────────

RIDER = "Živilė Święcicka-Ďáblická"
EMAIL = "zivile@tarnfell.example"
BIKE = "Grey road bike"
WISH = "Ride all day without a sore knee."

# By the questions' headings. Whatever is not named is answered without a fault.
ANSWERS = {
    "Seatpost slides": "It moves, but only with force",
    "Bolts of stem and bar": "I could not do it",
    "Wear of the cleats": "Past the marker, chipped or clearly worn on both, or I did not note which",
}
SPACERS_TITLE = "Spacers under and over the stem"
SPACERS = {"Spacers under the stem": "1 in", "Spacers over the stem": "3/8 in"}
SPACERS_MM = {"under_mm": 25.4, "over_mm": 9.525}  # 25.4 mm to the inch, NIST SP 811 appendix B.8
BY_KEYBOARD = "Crash, knock or crack"
STOPPED_AFTER = "Bolt of the seatpost clamp"
SORE, SORE_SCORE, SORE_AFTER_MIN, SORE_NOW = "Knee, front, left", 6, 40, 2

CLEATS, POST, BOLTS = "Cleats worn past their marker", "Seatpost moves only with force", "Bolts of stem and bar"
# Counted back on a calendar from Tuesday 31 March, Mondays to Fridays: two days for cleats, one for the rider's own
# hand on the post, three where a workshop eases it.
START_BY = {CLEATS: "Friday 27 March", POST: "Monday 30 March"}
WORKSHOP_BY = "start by Thu 26 March"

# ── The fitter ───────────────────────────────────────────────────────────────────────────────────────────────────────

USERNAME, PASSWORD = "marit", "correct horse battery"
RULINGS = {
    "cleat_wear.past_marker": Ruling.BRING_PART,
    "post_slides.forced": Ruling.FIX_FIRST,
    "front_bolts": Ruling.ACCEPT,
}
MESSAGE = "Bring the new cleats, please: we fit them together. For that we made the session a little longer."
