"""When is a person reminded of a day?

The command that sends reminders asks, with the person's own time zone and quiet hours. A deadline
or a travel day is a day, not a moment: it begins and ends at midnight where the person is, and a
reminder may be sent from so many days before until the day is over, outside of the quiet hours. A
reminder that was missed is still sent at the next moment allowed, and after the day it is not sent
at all.

Offsets of the zones come from the IANA time zone database.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

MINUTE: Final = timedelta(minutes=1)


@dataclass(frozen=True)
class QuietHours:
    """From `start` until before `end` on the clock on the wall; over midnight if `end` is earlier.

    Where both are the same no hour is quiet. Both are whole minutes; else ValueError.
    """

    start: time
    end: time

    def __post_init__(self) -> None:
        for clock in (self.start, self.end):
            if clock.second or clock.microsecond:
                raise ValueError(f"{clock} is no whole minute")

    def hold(self, clock: time) -> bool:
        """Whether it is quiet at this time of day."""
        if self.start <= self.end:
            return self.start <= clock < self.end
        return clock >= self.start or clock < self.end

    @property
    def minutes(self) -> int:
        """How long they are on a day without a change of the clock: 21:00 to 08:00 is 660."""
        return (_minute_of_day(self.end) - _minute_of_day(self.start)) % (24 * 60)


def _minute_of_day(clock: time) -> int:
    return clock.hour * 60 + clock.minute


@dataclass(frozen=True)
class Reminding:
    """One day to be told of: from `lead_days` before it until `useful_days` after it have ended.

    Days are the person's own, in `zone`. Raises ValueError for negative numbers of days.
    """

    day: date
    lead_days: int
    useful_days: int
    zone: ZoneInfo
    quiet: QuietHours

    def __post_init__(self) -> None:
        if self.lead_days < 0 or self.useful_days < 0:
            raise ValueError("days before and after are counted from 0")

    @property
    def begins(self) -> datetime:
        """When the first day begins (UTC), be it in quiet hours."""
        return first_moment_of(self.day - timedelta(days=self.lead_days), self.zone)

    @property
    def closes(self) -> datetime:
        """When the last day has ended (UTC); from then on it makes no sense any more."""
        return first_moment_of(self.day + timedelta(days=self.useful_days + 1), self.zone)

    @property
    def opens(self) -> datetime | None:
        """The first moment (UTC, a whole minute) at which it may be sent; None if there is none.

        A clock that is put forward over the end of the quiet hours ends them; one that is put back
        into them begins them anew.
        """
        moment, closes = self.begins, self.closes
        while moment < closes:
            if not self._is_quiet(moment):
                return moment
            moment += MINUTE
        return None

    def may_be_sent(self, now: datetime) -> bool:
        """Whether `now` (aware; ValueError if not) is a moment to send it."""
        if now.tzinfo is None:
            raise ValueError("a moment needs its time zone")
        return not self._is_quiet(now) and self.begins <= now < self.closes

    def _is_quiet(self, moment: datetime) -> bool:
        return self.quiet.hold(moment.astimezone(self.zone).time())


def first_moment_of(day: date, zone: ZoneInfo) -> datetime:
    """The moment (UTC) at which the day begins in a zone.

    Midnight, the first of two where the clock is put back over it. Where the clock is put forward
    over midnight the day begins with the first minute that has its date.
    """
    moment = datetime.combine(day, time(), tzinfo=zone).astimezone(UTC)
    while (moment - MINUTE).astimezone(zone).date() >= day:
        moment -= MINUTE
    return moment
