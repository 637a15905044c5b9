"""When a reminder may be sent.

The oracles are worked by hand, in UTC. The outside numbers are the offsets and changes of the IANA
time zone database (tzdata), each named beside its case:

| zone               | what tzdata says                                                            |
|--------------------|-----------------------------------------------------------------------------|
| Europe/Madrid      | +1; +2 from Sun 28 Mar 2027, 01:00 UTC, to Sun 31 Oct 2027, 01:00 UTC       |
| Asia/Kolkata       | +5:30 all year                                                              |
| Asia/Kathmandu     | +5:45 all year                                                              |
| Australia/Adelaide | +9:30; +10:30 from the first Sunday of October to the first of April        |
| America/New_York   | -5; -4 from Sun 14 Mar 2027, 07:00 UTC, to Sun 7 Nov 2027, 06:00 UTC        |
| America/St_Johns   | -3:30; until 2011 the clock was put back at 00:01, on 7 Nov 2010 to 23:01   |
| America/Santiago   | -3; -4 from April to September; on 5 Sep 2027 midnight is put forward to 1  |
| Pacific/Kiritimati | +14 all year                                                                |
| Pacific/Pago_Pago  | -11 all year                                                                |
| Pacific/Apia       | went from -10 to +14 on 30 Dec 2011, 10:00 UTC: that day did not exist      |
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonplan.science.reminding import QuietHours, Reminding, first_moment_of

NIGHT = QuietHours(time(21), time(8))
NEVER = QuietHours(time(0), time(0))


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)  # type: ignore[arg-type]


def reminding(
    day: date,
    zone: str = "Europe/Madrid",
    *,
    lead_days: int = 0,
    useful_days: int = 0,
    quiet: QuietHours = NIGHT,
) -> Reminding:
    return Reminding(day, lead_days, useful_days, ZoneInfo(zone), quiet)


# Quiet hours ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "end", "quiet", "loud"),
    [
        ("21:00", "08:00", ["21:00", "23:59", "00:00", "07:59"], ["08:00", "12:00", "20:59"]),
        ("13:00", "15:30", ["13:00", "15:29"], ["12:59", "15:30", "00:00", "23:59"]),
        ("00:00", "06:00", ["00:00", "05:59"], ["06:00", "23:59"]),
        ("22:00", "00:00", ["22:00", "23:59"], ["00:00", "21:59"]),
        ("09:00", "09:00", [], ["00:00", "08:59", "09:00", "09:01", "23:59"]),
        ("00:00", "00:00", [], ["00:00", "12:00", "23:59"]),
    ],
)
def test_quiet_hours_hold_from_the_first_until_before_the_last(
    start: str, end: str, quiet: list[str], loud: list[str]
) -> None:
    hours = QuietHours(time.fromisoformat(start), time.fromisoformat(end))
    assert [clock for clock in quiet if not hours.hold(time.fromisoformat(clock))] == []
    assert [clock for clock in loud if hours.hold(time.fromisoformat(clock))] == []


@pytest.mark.parametrize(
    ("start", "end", "minutes"),
    [("21:00", "08:00", 660), ("13:00", "15:30", 150), ("22:00", "00:00", 120),
     ("09:00", "09:00", 0), ("00:01", "00:00", 1439)],
)  # fmt: skip
def test_quiet_hours_have_a_length(start: str, end: str, minutes: int) -> None:
    hours = QuietHours(time.fromisoformat(start), time.fromisoformat(end))
    assert hours.minutes == minutes


def test_quiet_hours_are_whole_minutes() -> None:
    with pytest.raises(ValueError, match="no whole minute"):
        QuietHours(time(21, 0, 30), time(8))


# Oracles by hand -----------------------------------------------------------------------------

OPENS = {
    # +1 in March before the change: 08:00 is 07:00 UTC; midnight after the day is 23:00 UTC.
    "three days before, in winter": (
        reminding(date(2027, 3, 12), lead_days=3), utc(2027, 3, 9, 7), utc(2027, 3, 12, 23)),
    # +2 in July: 08:00 is 06:00 UTC, midnight is 22:00 UTC of the day before.
    "three days before, in summer": (
        reminding(date(2027, 7, 9), lead_days=3), utc(2027, 7, 6, 6), utc(2027, 7, 9, 22)),
    # The day of the change has 23 hours: begins 27 Mar 23:00 UTC, 08:00 is +2 already.
    "on the day the clock is put forward": (
        reminding(date(2027, 3, 28)), utc(2027, 3, 28, 6), utc(2027, 3, 28, 22)),
    # 25 hours: begins 30 Oct 22:00 UTC, 08:00 is +1 again.
    "on the day the clock is put back": (
        reminding(date(2027, 10, 31)), utc(2027, 10, 31, 7), utc(2027, 10, 31, 23)),
    # 02:30 does not exist that day: 01:59 is followed by 03:00, at 01:00 UTC.
    "quiet hours that end within the missing hour": (
        reminding(date(2027, 3, 28), quiet=QuietHours(time(21), time(2, 30))),
        utc(2027, 3, 28, 1), utc(2027, 3, 28, 22)),
    # 02:30 comes twice; the first time is +2, 00:30 UTC.
    "quiet hours that end within the doubled hour": (
        reminding(date(2027, 10, 31), quiet=QuietHours(time(21), time(2, 30))),
        utc(2027, 10, 31, 0, 30), utc(2027, 10, 31, 23)),
    # Quiet hours of one day: the first minute of the day is allowed.
    "quiet hours at noon": (
        reminding(date(2027, 7, 9), quiet=QuietHours(time(13), time(15))),
        utc(2027, 7, 8, 22), utc(2027, 7, 9, 22)),
    "no quiet hours": (
        reminding(date(2027, 7, 9), quiet=NEVER), utc(2027, 7, 8, 22), utc(2027, 7, 9, 22)),
    # Quiet but for the last minute of the day.
    "one minute a day": (
        reminding(date(2027, 7, 9), quiet=QuietHours(time(0), time(23, 59))),
        utc(2027, 7, 9, 21, 59), utc(2027, 7, 9, 22)),
    # +5:30: 08:00 is 02:30 UTC; midnight is 18:30 UTC of the day before.
    "a half hour, Kolkata": (
        reminding(date(2027, 2, 1), "Asia/Kolkata"),
        utc(2027, 2, 1, 2, 30), utc(2027, 2, 1, 18, 30)),
    # +5:45: 08:00 is 02:15 UTC, midnight 18:15 UTC.
    "three quarters, Kathmandu": (
        reminding(date(2027, 2, 1), "Asia/Kathmandu"),
        utc(2027, 2, 1, 2, 15), utc(2027, 2, 1, 18, 15)),
    # +10:30 in January: 08:00 is 21:30 UTC of the day before, midnight 13:30 UTC.
    "a half hour in summer, Adelaide": (
        reminding(date(2027, 1, 18), "Australia/Adelaide"),
        utc(2027, 1, 17, 21, 30), utc(2027, 1, 18, 13, 30)),
    # Lead on Fri 12 Mar at -5 (08:00 is 13:00 UTC); the day ends on Mon 15 at -4.
    "over the change, New York": (
        reminding(date(2027, 3, 15), "America/New_York", lead_days=3),
        utc(2027, 3, 12, 13), utc(2027, 3, 16, 4)),
    # -5 after the change on Sun 7 Nov: 08:00 is 13:00 UTC, midnight 05:00 UTC.
    "the day the clock is put back, New York": (
        reminding(date(2027, 11, 7), "America/New_York"),
        utc(2027, 11, 7, 13), utc(2027, 11, 8, 5)),
    # Midnight of Sun 5 Sep does not exist: the day begins at 01:00 (-3), 04:00 UTC.
    "no midnight, Santiago": (
        reminding(date(2027, 9, 5), "America/Santiago", quiet=NEVER),
        utc(2027, 9, 5, 4), utc(2027, 9, 6, 3)),
    # +14: 08:00 of the 10th is 18:00 UTC of the 9th; the 10th ends at 10:00 UTC of the 10th.
    "where the day begins first, Kiritimati": (
        reminding(date(2027, 6, 10), "Pacific/Kiritimati"),
        utc(2027, 6, 9, 18), utc(2027, 6, 10, 10)),
    # -11: 08:00 of the 10th is 19:00 UTC; the 10th ends at 11:00 UTC of the 11th.
    "where the day ends last, Pago Pago": (
        reminding(date(2027, 6, 10), "Pacific/Pago_Pago"),
        utc(2027, 6, 10, 19), utc(2027, 6, 11, 11)),
    # Two days after the event's last day it may still be told: until Fri 22:00 UTC.
    "useful for two days more": (
        reminding(date(2027, 7, 7), useful_days=2), utc(2027, 7, 7, 6), utc(2027, 7, 9, 22)),
    # Over the turn of a leap year's February: lead on Mon 28 Feb 2028, two days before 1 Mar.
    "a leap day between": (
        reminding(date(2028, 3, 1), lead_days=2), utc(2028, 2, 28, 7), utc(2028, 3, 1, 23)),
}  # fmt: skip


@pytest.mark.parametrize("case", OPENS)
def test_a_reminder_opens_and_closes_at_the_moment_worked_by_hand(case: str) -> None:
    told, opens, closes = OPENS[case]
    assert told.opens == opens
    assert told.closes == closes
    assert told.may_be_sent(opens)
    assert not told.may_be_sent(opens - timedelta(minutes=1))
    assert not told.may_be_sent(closes)


def test_in_the_doubled_hour_quiet_hours_begin_anew() -> None:
    told = reminding(date(2027, 10, 31), quiet=QuietHours(time(21), time(2, 30)))
    # 02:45 (+2), 02:15 (+1), 02:45 (+1)
    moments = [utc(2027, 10, 31, 0, 45), utc(2027, 10, 31, 1, 15), utc(2027, 10, 31, 1, 45)]
    assert [told.may_be_sent(moment) for moment in moments] == [True, False, True]


def test_a_missed_moment_is_made_up_for_at_the_next_one_allowed() -> None:
    told = reminding(date(2027, 7, 9), lead_days=1)  # from Thu 8 Jul, 08:00 (+2)
    clock = [
        (utc(2027, 7, 8, 19, 30), False),  # Thu 21:30
        (utc(2027, 7, 9, 5, 59), False),  # Fri 07:59
        (utc(2027, 7, 9, 6), True),  # Fri 08:00
        (utc(2027, 7, 9, 18, 59), True),  # Fri 20:59
        (utc(2027, 7, 9, 19), False),  # Fri 21:00: quiet until the day is over
        (utc(2027, 7, 10, 6), False),  # Sat 08:00: too late
    ]
    assert [(moment, told.may_be_sent(moment)) for moment, _ in clock] == clock


def test_a_day_that_is_quiet_throughout_is_not_told() -> None:
    # On Fri 30 Dec 2011 Apia had no day at all.
    told = reminding(date(2011, 12, 30), "Pacific/Apia")
    assert told.begins == told.closes == utc(2011, 12, 30, 10)
    assert told.opens is None


def test_a_day_begins_with_its_first_minute_where_the_clock_is_put_back_over_midnight() -> None:
    # Midnight at -2:30 is 02:30 UTC; a minute later it was 23:01 of the day before once more.
    assert first_moment_of(date(2010, 11, 7), ZoneInfo("America/St_Johns")) == utc(
        2010, 11, 7, 2, 30
    )


def test_the_same_day_is_told_a_day_apart_on_both_sides_of_the_date_line() -> None:
    east = reminding(date(2027, 6, 10), "Pacific/Kiritimati").opens
    west = reminding(date(2027, 6, 10), "Pacific/Pago_Pago").opens
    assert east is not None
    assert west is not None
    assert west - east == timedelta(hours=25)  # 14 + 11


def test_impossible_questions_are_refused() -> None:
    with pytest.raises(ValueError, match="counted from 0"):
        reminding(date(2027, 7, 9), lead_days=-1)
    with pytest.raises(ValueError, match="counted from 0"):
        reminding(date(2027, 7, 9), useful_days=-1)
    with pytest.raises(ValueError, match="needs its time zone"):
        reminding(date(2027, 7, 9)).may_be_sent(datetime(2027, 7, 9, 12))  # noqa: DTZ001


# Whatever the zone, the day and the hours ----------------------------------------------------

ZONES = (
    "UTC", "Europe/Madrid", "Europe/London", "Asia/Kolkata", "Asia/Kathmandu", "America/New_York",
    "America/St_Johns", "America/Santiago", "America/Havana", "America/Nuuk", "Africa/Cairo",
    "Africa/Casablanca", "Asia/Beirut", "Atlantic/Azores", "Australia/Adelaide",
    "Australia/Lord_Howe", "Pacific/Apia", "Pacific/Chatham", "Pacific/Kiritimati",
    "Pacific/Pago_Pago", "Antarctica/Troll",
)  # fmt: skip
CLOCKS = st.builds(time, st.integers(0, 23), st.integers(0, 59))
REMINDINGS = st.builds(
    Reminding,
    st.dates(date(2024, 1, 1), date(2030, 12, 31)),
    st.integers(0, 14),
    st.integers(0, 3),
    st.sampled_from(ZONES).map(ZoneInfo),
    st.builds(QuietHours, CLOCKS, CLOCKS),
)


@given(REMINDINGS, st.integers(-3 * 1440, 20 * 1440))
def test_never_in_quiet_hours_nor_before_the_lead_nor_after_the_day(
    told: Reminding, minutes: int
) -> None:
    now = datetime.combine(
        told.day - timedelta(days=told.lead_days), time(), tzinfo=UTC
    ) + timedelta(minutes=minutes)
    local = now.astimezone(told.zone)
    first = told.day - timedelta(days=told.lead_days)
    last = told.day + timedelta(days=told.useful_days)
    minute = local.hour * 60 + local.minute
    start = told.quiet.start.hour * 60 + told.quiet.start.minute
    is_quiet = (minute - start) % 1440 < told.quiet.minutes

    assert told.may_be_sent(now) == (first <= local.date() <= last and not is_quiet)


@given(REMINDINGS)
def test_it_opens_at_the_first_moment_that_is_allowed(told: Reminding) -> None:
    opens = told.opens
    if opens is None:
        # A change of the clock may swallow the only minutes that a day leaves.
        assert told.quiet.minutes > 1440 - 60
        return
    assert told.begins <= opens < told.closes
    assert told.may_be_sent(opens)
    before = told.begins
    while before < opens:
        assert not told.may_be_sent(before)
        before += timedelta(minutes=7)
    assert opens == told.begins or not told.may_be_sent(opens - timedelta(minutes=1))


@given(st.dates(date(2024, 1, 1), date(2030, 12, 31)), st.sampled_from(ZONES))
def test_a_day_begins_when_the_clock_on_the_wall_first_shows_it(day: date, name: str) -> None:
    zone = ZoneInfo(name)
    moment = first_moment_of(day, zone)
    assert moment.astimezone(zone).date() == day
    assert (moment - timedelta(minutes=1)).astimezone(zone).date() == day - timedelta(days=1)
