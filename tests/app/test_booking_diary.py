"""From rows to free starts: hours as an owner may have typed them, closed days, clocks, weeks, and how many queries it takes."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine

from sessions.diary.errors import LengthError
from sessions.models import Closure, FitSession, OpeningHours
from sessions.selectors.booking.diary import closed_days, free_starts_for, need_of_service, weekly_hours
from sessions.selectors.booking.offers import week_on_offer
from sessions.selectors.booking.weeks import clock_name, clock_names
from sessions.selectors.slots import working_days
from tests import factories
from tests.booking import NOW, START, book_one

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def service(studio):
    """Two hours, with a quarter of an hour to clear up."""
    return studio.services.get()


def starts_on(service, day, **how):
    """The wall times of a day's free starts."""
    zone = service.studio.zone
    local = (each.start_utc.astimezone(zone) for each in free_starts_for(service, **how))
    return [f"{each:%H:%M}" for each in local if each.date() == day]


class TestHours:
    """Rows as people type them."""

    def rows(self, *stretches):
        """Unsaved rows of one Monday."""
        return [
            OpeningHours(weekday=0, opens=time.fromisoformat(a), closes=time.fromisoformat(b)) for a, b in stretches
        ]

    def monday(self, *stretches):
        """The Monday that these rows make, as text."""
        return [f"{each.opens:%H:%M}-{each.closes:%H:%M}" for each in weekly_hours(self.rows(*stretches)).days[0]]

    def test_a_break_is_kept(self):
        """Two rows make a day with a break."""
        assert self.monday(("13:00", "17:00"), ("09:00", "12:00")) == ["09:00-12:00", "13:00-17:00"]

    def test_rows_that_overlap_or_touch_are_one(self):
        """A second row for an evening that begins before the day has ended is no mistake worth an error page."""
        assert self.monday(("09:00", "17:00"), ("16:00", "20:00"), ("20:00", "21:00")) == ["09:00-21:00"]
        assert self.monday(("09:00", "20:00"), ("10:00", "12:00")) == ["09:00-20:00"]

    def test_odd_minutes_lose_what_is_short_of_a_mark(self):
        """Time is cut into fives; what is open for part of one opens none of it."""
        assert self.monday(("09:02", "16:58"), ("18:01", "18:04")) == ["09:05-16:55"]
        assert self.monday(("09:00:30", "17:00:30")) == ["09:05-17:00"]

    def test_the_last_minutes_of_the_day(self):
        """A studio that is open until the end of the day types 23:59."""
        assert self.monday(("20:00", "23:59"), ("23:56", "23:59")) == ["20:00-23:55"]

    def test_no_rows_no_starts(self, service):
        """A studio without hours offers nothing and breaks nothing."""
        service.studio.opening_hours.all().delete()
        assert free_starts_for(service) == ()
        assert not week_on_offer(service, None).has_starts


class TestClosedDays:
    """Closures and public holidays."""

    def test_only_the_days_in_question(self, studio):
        """A closure that begins before and ends after gives exactly the days asked for."""
        Closure.objects.create(studio=studio, first_day=date(1990, 1, 1), last_day=date(2090, 1, 1))
        assert closed_days(studio, date(2026, 3, 3), date(2026, 3, 5)) == {date(2026, 3, day) for day in (3, 4, 5)}

    def test_holidays_of_the_studios_country(self, studio):
        """Good Friday and Easter Monday 2026 in England, the Friday alone in Scotland."""
        studio.country, studio.region = "GB", "ENG"
        april = (date(2026, 4, 1), date(2026, 4, 30))
        assert closed_days(studio, *april) == {date(2026, 4, 3), date(2026, 4, 6)}
        studio.region = "SCT"
        assert closed_days(studio, *april) == {date(2026, 4, 3)}

    def test_deadlines_reach_over_the_turn_of_the_year(self, studio):
        """A remedy for a session in January begins before Christmas; one booked far ahead meets the holidays of its own year."""
        closed = working_days(studio, date(2026, 1, 2)).closed
        assert {date(2025, 12, 25), date(2026, 12, 25), date(2028, 12, 25)} <= closed

    def test_a_closure_without_end_costs_no_more_than_a_long_one(self, studio):
        """A slip in the year must not make every page count millions of days."""
        Closure.objects.create(studio=studio, first_day=date(2026, 1, 5), last_day=date(9999, 12, 31))
        closed = working_days(studio, date(2026, 3, 2)).closed
        assert date(2027, 6, 1) in closed
        assert len(closed) < 4 * 366

    @pytest.mark.parametrize(("country", "region"), [("ZZ", ""), ("GB", "nowhere"), ("", "")])
    def test_an_unknown_country_has_none(self, studio, country, region):
        """A slip in the settings costs the holidays, not the page."""
        studio.country, studio.region = country, region
        assert closed_days(studio, date(2026, 12, 20), date(2026, 12, 31)) == frozenset()

    def test_another_studios_closure_is_its_own(self, service):
        """Two studios close on days of their own."""
        other = factories.studio_with_hours()
        Closure.objects.create(studio=other, first_day=START.date(), last_day=START.date())
        assert starts_on(service, START.date())


class TestBusy:
    """What takes a fitter or a bay."""

    def test_a_booked_session_takes_what_it_occupies(self, service):
        """With one fitter, two hours from ten and a quarter to clear up leave nothing before half past twelve."""
        service.studio.fitters.last().delete()
        book_one(service)
        assert starts_on(service, START.date()) == ["12:30", "13:00", "13:30", "14:00", "14:30"]

    @pytest.mark.parametrize(
        ("state", "is_free"), [("held", False), ("done", False), ("cancelled", True), ("no_show", True)]
    )
    def test_states_that_give_their_time_back(self, service, state, is_free):
        """The diary counts the same states as the database's rows."""
        service.studio.fitters.last().delete()
        FitSession.objects.filter(pk=book_one(service).fit_session.pk).update(state=state)
        assert ("10:00" in starts_on(service, START.date())) == is_free

    def test_who_takes_no_bookings_is_not_offered(self, service):
        """Without an active fitter, or without a bay in use, nothing is free."""
        service.studio.fitters.update(is_active=False)
        assert free_starts_for(service) == ()
        service.studio.fitters.update(is_active=True)
        service.studio.bays.update(is_active=False)
        assert free_starts_for(service) == ()

    def test_a_named_fitter(self, service):
        """Only that fitter's time counts; somebody of another studio has none here."""
        busy = book_one(service).fit_session.fitter
        spare = service.studio.fitters.exclude(pk=busy.pk).get()
        assert "10:00" not in starts_on(service, START.date(), fitter_id=busy.pk)
        assert "10:00" in starts_on(service, START.date(), fitter_id=spare.pk)
        assert free_starts_for(service, fitter_id=factories.FitterFactory().pk) == ()

    def test_longer_than_a_day(self, studio):
        """A service whose minutes do not fit into a day can be stored, and is never free."""
        service = factories.ServiceFactory(studio=studio, planned_min=600, slack_min=600, buffer_after_min=600)
        with pytest.raises(LengthError):
            need_of_service(service)
        assert free_starts_for(service) == ()


class TestWeeks:
    """Leafing through the weeks."""

    def test_the_first_week_with_a_start_comes_first(self, service):
        """When the studio is closed for a fortnight the page opens on the third week."""
        Closure.objects.create(studio=service.studio, first_day=NOW.date(), last_day=date(2026, 3, 17))
        week = week_on_offer(service, None)
        assert week.monday == date(2026, 3, 16)
        assert [day.day for day in week.days if day.starts] == [date(2026, 3, 18), date(2026, 3, 19), date(2026, 3, 20)]

    def test_a_week_without_starts_names_the_next(self, service):
        """An empty week leads on."""
        Closure.objects.create(studio=service.studio, first_day=date(2026, 3, 9), last_day=date(2026, 3, 23))
        week = week_on_offer(service, date(2026, 3, 11))
        assert (week.has_starts, week.monday, week.next_free) == (False, date(2026, 3, 9), date(2026, 3, 23))

    def test_the_ends_of_what_can_be_booked(self, service):
        """Neither the past nor what lies behind the horizon is shown or led to."""
        first = week_on_offer(service, None)
        assert (first.previous, first.days[0].day) == (None, date(2026, 3, 3))
        last = week_on_offer(service, date(2026, 5, 1))
        assert (last.next, last.last_day) == (None, date(2026, 5, 1))
        assert last.previous == date(2026, 4, 20)

    @pytest.mark.parametrize(("asked", "shown"), [(date.min, date(2026, 3, 2)), (date.max, date(2026, 4, 27))])
    def test_any_date_leads_somewhere(self, service, asked, shown):
        """A date far off gives the nearest week there is."""
        assert week_on_offer(service, asked).monday == shown

    def test_the_notice_reaches_past_the_horizon(self, service):
        """A studio that asks for more notice than it books ahead has a page all the same."""
        studio = service.studio
        studio.notice_hours, studio.horizon_days = 24 * 30, 7
        week = week_on_offer(service, None)
        assert not week.has_starts
        assert len(week.days) >= 1


class TestClocks:
    """Wall-clock times around both changes of British time in 2026: 29 March and 25 October."""

    @pytest.fixture
    def sunday(self, studio):
        """A studio that is open on Sundays too, and books half a year ahead."""
        OpeningHours.objects.create(studio=studio, weekday=6, opens=time(9), closes=time(17))
        studio.horizon_days = 300
        studio.save()
        return studio.services.get()

    @pytest.mark.parametrize(
        ("saturday", "monday", "before", "after"),
        [
            (date(2026, 3, 27), date(2026, 3, 30), "09:00Z", "08:00Z"),
            (date(2026, 10, 23), date(2026, 10, 26), "08:00Z", "09:00Z"),
        ],
    )
    def test_the_doors_open_at_nine_on_both_sides(self, sunday, saturday, monday, before, after):
        """Nine o'clock on the wall is another instant after the change."""
        for day, utc in ((saturday, before), (monday, after)):
            assert starts_on(sunday, day)[0] == "09:00"
            instants = [f"{each.start_utc:%Y-%m-%d %H:%MZ}" for each in free_starts_for(sunday)]
            assert f"{day} {utc}" in instants

    def test_the_week_of_the_change_says_so(self, sunday):
        """Both names of the local time stand on the page, and only in that week."""
        spring = week_on_offer(sunday, date(2026, 3, 23))
        assert (spring.clock, spring.clocks_change) == ("GMT, BST", True)
        autumn = week_on_offer(sunday, date(2026, 10, 19))
        assert (autumn.clock, autumn.clocks_change) == ("BST, GMT", True)
        assert week_on_offer(sunday, date(2026, 3, 30)).clock == "BST"

    def test_a_time_that_comes_twice(self, studio):
        """Open through the night of 25 October, the hour from one to two is on offer twice, each a different instant."""
        studio.horizon_days = 300
        studio.save()
        OpeningHours.objects.create(studio=studio, weekday=6, opens=time(0), closes=time(8))
        service = factories.ServiceFactory(studio=studio, planned_min=30, slack_min=0, buffer_after_min=0)
        week = week_on_offer(service, date(2026, 10, 19))
        night = [each for each in week.days[-1].starts if each.local.hour == 1]
        assert [(f"{each.local:%H:%M %Z}", each.is_repeated) for each in night] == [
            ("01:00 BST", True),
            ("01:30 BST", True),
            ("01:00 GMT", True),
            ("01:30 GMT", True),
        ]
        assert [each.free.start_utc.hour for each in night] == [0, 0, 1, 1]

    def test_a_zone_without_names(self):
        """Where a zone has no abbreviation its distance from UTC is said."""
        assert clock_names(ZoneInfo("America/Sao_Paulo"), date(2026, 3, 2)) == ("UTC−03:00",)
        assert clock_name(datetime(2026, 3, 2, 9, tzinfo=ZoneInfo("Asia/Kathmandu"))) == "UTC+05:45"


@pytest.mark.parametrize("sessions", [1, 40])
def test_as_many_queries_for_a_full_diary_as_for_an_empty_one(service, sessions, django_assert_num_queries):
    """Hours, closures, fitters, bays and what is taken: five."""
    for place in range(sessions):
        day = START + timedelta(days=place // 2 % 4, weeks=place // 8)
        factories.FitSessionFactory(
            studio=service.studio,
            starts_at=day,
            fitter=service.studio.fitters.all()[place % 2],
            bay=service.studio.bays.all()[place % 2],
        )
    with django_assert_num_queries(5):
        assert free_starts_for(service)
