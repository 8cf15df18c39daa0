"""When a rider is written to before a session, and how early the check must be asked for."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise, product

import pytest
from hypothesis import assume
from hypothesis import given as drawn
from hypothesis import strategies as st

from intake.catalogue.schema import Hazard
from intake.chasing.leads import likely_leads, longest_likely_lead
from intake.chasing.occasions import Deadline, Kind, Outlook, chase_days, occasions
from intake.chasing.schedule import notice_on, planned
from intake.triage.answers import Ruling
from intake.triage.deadlines import add_working_days, fix_by
from intake.triage.engine import triage
from tests.core.catalogues import WEEKDAYS, catalogue, check, fault, given
from tests.strategies_chasing import outlooks

FRIDAY = date(2026, 3, 20)
KNOWN = date(2026, 3, 2)
CALM = Outlook(starts_on=FRIDAY, known_on=KNOWN, working_days=WEEKDAYS, lead_days=5, silent=False)
DAY = timedelta(days=1)


def mails(outlook, sent=()):
    """Day of March and kinds of each mail to come."""
    return [(notice.day.day, *(each.kind.value for each in notice.occasions)) for notice in planned(outlook, sent)]


# ── Worked by hand, in March 2026: the 2nd is a Monday, the 20th a Friday ────────────────────────────────────────────────


def test_a_rider_who_has_handed_in_hears_twice():
    """Three days before and one day before, weekends or not."""
    assert mails(CALM) == [(17, "three_days"), (19, "one_day")]


@pytest.mark.parametrize(
    ("lead_days", "first", "second"),
    [(1, 13, None), (2, 12, None), (3, 11, 16), (4, 10, 13), (5, 9, 12), (7, 5, 10), (9, 3, 6), (10, 3, 5), (14, 3, 5)],
)
def test_the_check_is_asked_for_early_enough_for_the_longest_likely_remedy(lead_days, first, second):
    """Five working days of work must begin on Friday 13: asked on Monday 9 and Thursday 12. A word from the 17th on is a reminder."""
    asked = [(first, "chase"), *([(second, "chase_again")] if second else [])]
    assert mails(replace(CALM, lead_days=lead_days, silent=True)) == [*asked, (17, "three_days"), (19, "one_day")]


@pytest.mark.parametrize(
    ("known", "expected"),
    [
        (9, [(10, "chase"), (12, "chase_again"), (17, "three_days"), (19, "one_day")]),
        (12, [(13, "chase"), (17, "three_days"), (19, "one_day")]),
        (13, [(14, "chase"), (17, "three_days"), (19, "one_day")]),
        (15, [(16, "chase"), (17, "three_days"), (19, "one_day")]),
        (16, [(17, "three_days"), (19, "one_day")]),
        (17, [(18, "chase"), (19, "one_day")]),
        (18, [(19, "one_day")]),
        (19, []),
        (20, []),
    ],
)
def test_a_late_booking_leaves_out_what_has_no_room(known, expected):
    """The confirmation has asked already; the next mornings are used as far as they go, and none twice."""
    assert mails(replace(CALM, known_on=date(2026, 3, known), silent=True)) == expected


def test_repairs_that_come_one_after_another_share_their_mails():
    """Last days on the 11th, 13th and 18th: a mail speaks of what would be due within two working days, too."""
    deadlines = (
        Deadline("post.stuck", date(2026, 3, 11), pressing=True),
        Deadline("bolts.seized", date(2026, 3, 13), pressing=True),
        Deadline("bike.dirty", date(2026, 3, 18), pressing=False),
    )
    assert mails(replace(CALM, deadlines=deadlines)) == [
        (9, "fix_soon", "fix_soon"),
        (11, "last_day"),
        (13, "last_day", "fix_soon"),
        (17, "three_days"),
        (19, "one_day"),
    ]


def test_advice_that_was_just_mailed_is_not_repeated():
    """Handed in on the 10th with a repair that must begin by the 11th: the mail of the 10th has said so; its last day still counts."""
    deadline = Deadline("post.stuck", date(2026, 3, 11), pressing=True)
    advised = replace(CALM, deadlines=(deadline,), advised_on=date(2026, 3, 10))
    assert mails(advised) == [(11, "last_day"), (17, "three_days"), (19, "one_day")]
    assert mails(replace(advised, advised_on=date(2026, 3, 11))) == [(17, "three_days"), (19, "one_day")]


def test_a_part_to_pack_is_due_the_day_before():
    """What may be begun on the day itself is spoken of in the last mail."""
    deadline = Deadline("shoes.missing", FRIDAY, pressing=True)
    assert mails(replace(CALM, deadlines=(deadline,))) == [(17, "three_days", "fix_soon"), (19, "one_day", "last_day")]


def test_a_worker_that_was_away_sends_what_is_still_of_use():
    """The first request is not sent after the second is due, nor the reminder of three days on the last day."""
    silent = replace(CALM, silent=True)
    assert [each.kind for each in notice_on(date(2026, 3, 11), silent).occasions] == [Kind.CHASE]
    assert [each.kind for each in notice_on(date(2026, 3, 13), silent).occasions] == [Kind.CHASE_AGAIN]
    assert [each.kind for each in notice_on(date(2026, 3, 18), silent).occasions] == [Kind.THREE_DAYS]
    assert [each.kind for each in notice_on(date(2026, 3, 19), silent).occasions] == [Kind.ONE_DAY]
    assert notice_on(FRIDAY, silent) is None


# ── Whatever the session ─────────────────────────────────────────────────────────────────────────────────────────────────


@drawn(outlooks())
def test_no_mail_comes_on_the_day_of_the_booking_or_of_the_session(outlook):
    """One a day, each occasion once, all between the two."""
    notices = planned(outlook)
    assert all(outlook.known_on < notice.day < outlook.starts_on for notice in notices)
    assert all(earlier.day < later.day for earlier, later in pairwise(notices))
    keys = [key for notice in notices for key in notice.keys]
    assert len(keys) == len(set(keys))
    assert set(keys) == {each.key for each in occasions(outlook)}


@drawn(outlooks(silent=True))
def test_what_is_found_on_the_evening_of_a_request_can_still_be_put_right(outlook):
    """A remedy that begins on the next working day is done before the session, unless the booking came too late for that."""
    first, second = chase_days(outlook)
    assume(fix_by(outlook.starts_on, outlook.lead_days + 5, outlook.working_days) > outlook.known_on)
    for notice in planned(outlook):
        if notice.kinds & {Kind.CHASE, Kind.CHASE_AGAIN}:
            ready = add_working_days(notice.day + DAY, outlook.lead_days, outlook.working_days)
            assert ready <= max(outlook.starts_on, add_working_days(outlook.starts_on, 0, outlook.working_days))
    assert second - first >= 2 * DAY


@drawn(outlooks(silent=True))
def test_a_silent_rider_is_asked_twice_at_most_and_never_after_a_reminder(outlook):
    """From the first reminder on, the reminders ask."""
    kinds = [notice.kinds for notice in planned(outlook)]
    asked = [number for number, each in enumerate(kinds) if each & {Kind.CHASE, Kind.CHASE_AGAIN}]
    reminded = [number for number, each in enumerate(kinds) if each & {Kind.THREE_DAYS, Kind.ONE_DAY}]
    assert len(asked) <= 2
    assert all(one < other for one, other in product(asked, reminded))


@drawn(outlooks(silent=False, deadlines=()))
def test_who_has_done_everything_hears_of_the_time_alone(outlook):
    """Twice where there was time, once or never after a late booking."""
    ahead = (outlook.starts_on - outlook.known_on).days
    expected = [kind for kind, days in ((Kind.THREE_DAYS, 3), (Kind.ONE_DAY, 1)) if days < ahead]
    assert [notice.kind for notice in planned(outlook)] == expected


@drawn(outlooks(), st.sets(st.integers(0, 70)))
def test_days_on_which_nobody_looks_double_nothing(outlook, away):
    """Looking day by day sends what is planned; with days missed, less, never twice, and nothing after its time."""
    sent, until = [], {each.key: each.until for each in occasions(outlook)}
    for number in range((outlook.starts_on - outlook.known_on).days + 3):
        day = outlook.known_on + number * DAY
        notice = None if number in away else notice_on(day, outlook, set(sent))
        if notice is not None:
            assert all(day <= until[key] for key in notice.keys)
            sent += notice.keys
    assert len(sent) == len(set(sent))
    if not away:
        assert sent == [key for notice in planned(outlook) for key in notice.keys]


@drawn(outlooks(), st.integers(0, 70))
def test_what_was_sent_stays_sent_when_the_outlook_changes(outlook, after):
    """A rider who answers meanwhile is asked no more; what was mailed is not mailed again under another lead time."""
    change = outlook.known_on + after * DAY
    before = [notice for notice in planned(outlook) if notice.day < change]
    sent = {key for notice in before for key in notice.keys}
    later = [key for notice in planned(replace(outlook, lead_days=outlook.lead_days + 2), sent) for key in notice.keys]
    assert not sent & set(later)
    answered = planned(replace(outlook, silent=False), sent)
    assert not any(notice.kinds & {Kind.CHASE, Kind.CHASE_AGAIN} for notice in answered)


# ── How long the remedies may take ───────────────────────────────────────────────────────────────────────────────────────

some_leads = st.lists(
    st.lists(st.tuples(st.integers(0, 10), st.floats(0, 0.5)), max_size=2, unique_by=lambda each: each[0]).map(dict),
    max_size=4,
)


@drawn(some_leads, st.floats(0, 1))
def test_the_longest_likely_lead_is_the_quantile_of_the_longest_needed(leads, likely):
    """Against every combination of what may turn out, one by one."""
    cumulated = dict.fromkeys(sorted({0, *(lead for each in leads for lead in each)}), 0.0)
    outcomes = [[*each.items(), (0, 1 - sum(each.values()))] for each in leads]
    for combined in product(*outcomes):
        share = 1.0
        for _lead, probability in combined:
            share *= probability
        longest = max((lead for lead, _probability in combined), default=0)
        for lead in cumulated:
            cumulated[lead] += share if longest <= lead else 0
    answer = longest_likely_lead(leads, likely)
    assert cumulated[answer] >= likely - 1e-9
    shorter = [lead for lead in cumulated if lead < answer]
    assert not shorter or cumulated[max(shorter)] <= likely + 1e-9


@pytest.mark.parametrize("likely", [-0.1, 1.1, float("nan")])
def test_no_probability_is_refused(likely):
    """A threshold is a share."""
    with pytest.raises(ValueError, match="probability"):
        longest_likely_lead([], likely)


CHECKS = (
    check("post", fault("stuck", rate=0.3, remedies=("workshop",))),
    check("bike", fault("dirty", rate=0.5, remedies=("grease", "workshop"))),
    check("chest", fault("pain", rate=0.9, remedies=("workshop",), hazard=Hazard.SEE_CLINICIAN)),
)


@pytest.mark.parametrize(
    ("answers", "rulings", "expected"),
    [
        ({}, {}, [{5: 0.3}, {1: 0.5}]),
        ({"post": "fine"}, {}, [{1: 0.5}]),
        ({"post": "stuck", "bike": "fine"}, {}, [{5: 1.0}]),
        ({"post": "stuck", "bike": "fine"}, {"post.stuck": Ruling.FIX_FIRST}, [{5: 1.0}]),
        ({"post": "stuck", "bike": "fine"}, {"post.stuck": Ruling.FIXED}, []),
        ({"post": "stuck", "bike": "fine"}, {"post.stuck": Ruling.STUDIO}, []),
    ],
)
def test_open_checks_count_by_their_rates_and_open_findings_for_certain(answers, rulings, expected):
    """What is settled takes no time, and what belongs with a clinician no working days of ours."""
    result = triage(given(*CHECKS, answers=answers, rulings=rulings))
    found = [dict(leads) for leads in likely_leads(result, catalogue(*CHECKS))]
    assert sorted(map(str, found)) == sorted(map(str, expected))
