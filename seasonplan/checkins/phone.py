"""The player's phone: which week is it, what does it hold, what is the year, who sees what.

Each function makes the page model of one page from the plan in force (`phone_views.py` asks); the
page of logs is in `phone_log.py`. Nothing here asks the clock, or the database once a plan is
gathered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.events.models import Event
from seasonplan.plans.due import DEADLINES, DueKind, due_of, trips_of
from seasonplan.plans.laying_out import Material, judge_plan
from seasonplan.plans.models import Block, SeasonPlan
from seasonplan.plans.planner import CardView, WeekView, season_name, season_page
from seasonplan.plans.terms import surface_with_roof
from seasonplan.science.layout.trips import Trip
from seasonplan.science.layout.wording import week_count
from seasonplan.science.weeks import event_weeks
from seasonplan.science.words import N_, days, number, short_weekday, weekday_day

PURPOSES: Final = {
    "preparation": N_(
        "Build the base: endurance, strength and movement. A lot of it, at low effort."
    ),
    "pre-competition": N_("Turn the base into tennis: more effort, less volume, explosive work."),
    "competition": N_("Keep what you have built. How much you train follows the matches you play."),
    "active rest": N_("Away from tennis, and moving: walk, swim, play something else."),
}
"""What each kind of phase is for, after the rules of the trade in the product's description."""

PLAYING: Final = {DueKind.BEGINS, DueKind.CHECK_IN}
"""What the days of a week leave out: they name the place on each day of the event instead."""

NO_PLAN: Final = N_(
    "No season plan is in force yet. When your coach puts one in force, it stands here."
)


@dataclass(frozen=True)
class NextEvent:
    """An event still to come: when it begins, and when to be there."""

    name: str
    url: str
    place: str
    surface: str
    surface_label: str
    dates: str
    wait: str
    is_target: bool
    travel: tuple[str, ...]


@dataclass(frozen=True)
class Deadline:
    text: str
    wait: str
    is_soon: bool


@dataclass(frozen=True)
class DayLine:
    """One day of the week with what the plan says of it."""

    iso: str
    label: str
    entries: tuple[str, ...]


@dataclass(frozen=True)
class WeekPage:
    """What now? `empty` stands instead of everything else where no plan speaks of today."""

    title: str
    empty: str = ""
    now: tuple[str, ...] = ()
    phase: str = ""
    phase_label: str = ""
    phase_part: str = ""
    in_peak: bool = False
    purpose: str = ""
    days: tuple[DayLine, ...] = ()
    next_event: NextEvent | None = None
    deadline: Deadline | None = None


def plan_of_day(plans: Sequence[SeasonPlan], today: date) -> SeasonPlan | None:
    """Of a player's plans in force the one that holds the day; else the next one, else the last."""
    by_start = sorted(plans, key=lambda plan: plan.start)
    coming = [plan for plan in by_start if plan.end >= today]
    return next(iter(coming or by_start[-1:]), None)


def week_page(material: Material | None, *, today: date) -> WeekPage:
    """The week of `today`, its phase, and what comes next."""
    monday = today - timedelta(days=today.weekday())
    title = _("Week %(number)d, %(days)s") % {
        "number": today.isocalendar().week,
        "days": days(monday, monday + timedelta(days=6)),
    }
    if material is None:
        return WeekPage(title, empty=_(NO_PLAN))
    if today > material.plan.end:
        ended = _("%(plan)s ended on %(day)s. The next season is not in force yet.") % {
            "plan": material.plan.name,
            "day": weekday_day(material.plan.end),
        }
        return WeekPage(title, empty=ended)
    story = _Story(material, today)
    block = next((b for b in material.blocks if b.start <= today < _over(b)), None)
    return WeekPage(
        title=title,
        now=tuple(story.now()),
        phase=block.phase.replace(" ", "-") if block else "",
        phase_label=block.get_phase_display() if block else "",
        phase_part=_part(block, today) if block else "",
        in_peak=any(peak.start <= today <= peak.end for peak in story.peaks),
        purpose=_(PURPOSES[block.phase]) if block else "",
        days=tuple(story.day(monday + timedelta(days=n)) for n in range(7)),
        next_event=story.next_event(),
        deadline=story.next_deadline(),
    )


def _over(block: Block) -> date:
    return block.start + timedelta(weeks=block.weeks)


def _part(block: Block, today: date) -> str:
    return _("week %(number)d of %(weeks)d") % {
        "number": (today - block.start).days // 7 + 1,
        "weeks": block.weeks,
    }


def wait_words(day: date, today: date) -> str:
    """`today`, `tomorrow`, `in 5 days`."""
    ahead = (day - today).days
    if ahead == 0:
        return _("today")
    if ahead == 1:
        return _("tomorrow")
    return ngettext("in %(count)d day", "in %(count)d days", ahead) % {"count": ahead}


class _Story:
    """A plan in force, told from one day on."""

    def __init__(self, material: Material, today: date) -> None:
        self.material, self.today = material, today
        laid_out = material.home is not None and bool(material.blocks)
        judgement = judge_plan(material, today=today).judgement if laid_out else None
        self.peaks = judgement.peaks if judgement else ()
        self.trips = trips_of(material)
        self.due = due_of(material)

    def now(self) -> Iterator[str]:
        """The first sentence is the answer to "what now?"."""
        today, start = self.today, self.material.plan.start
        if today < start:
            yield _("The season begins %(wait)s, on %(day)s.") % {
                "wait": wait_words(start, today),
                "day": weekday_day(start),
            }
        said = False
        for event in self.material.going:
            if sentence := self._of_event(event):
                said = True
                yield sentence
        for busy in self.material.busy:
            if busy.start <= today <= busy.end:
                said = True
                words = (
                    _("%(why)s, today: no event.")
                    if busy.end == today
                    else _("%(why)s, until %(day)s: no event.")
                )
                yield words % {"why": busy.why or _("Busy"), "day": weekday_day(busy.end)}
        if not said and today >= start:
            if leave := self._next_leave():
                yield _("At home, and you leave %(wait)s.") % {"wait": wait_words(leave, today)}
            else:
                yield _("At home.")

    def _of_event(self, event: Event) -> str:
        """What the event asks of today, nothing on most days."""
        today, place, trip = self.today, event.place.place_name, self.trips.get(event.pk)
        if event.start <= today <= event.end:
            words = (
                _("You play %(event)s in %(place)s, last day.")
                if today == event.end
                else _("You play %(event)s in %(place)s, until %(day)s.")
            )
            return words % {"event": event.name, "place": place, "day": weekday_day(event.end)}
        if trip is None or not trip.travel_days:
            return ""
        said = {"place": place, "day": weekday_day(trip.arrive)}
        if today == trip.leave == trip.arrive:
            return _("Leave for %(place)s today.") % said
        if today == trip.leave:
            return _("Leave for %(place)s today. You arrive on %(day)s.") % said
        if trip.leave < today < trip.arrive:
            return _("On the way to %(place)s. You arrive on %(day)s.") % said
        if trip.arrive <= today < event.start:
            return _("In %(place)s: settle in. %(event)s begins %(wait)s, on %(day)s.") % {
                "place": place,
                "event": event.name,
                "wait": wait_words(event.start, today),
                "day": weekday_day(event.start),
            }
        if trip.goes_home and event.end < today <= event.end + timedelta(trip.home_travel_days):
            return _("Travel home from %(place)s.") % said
        return ""

    def _next_leave(self) -> date | None:
        """The next day of leaving, if it lies within this week and the next."""
        ahead = [t.leave for t in self.trips.values() if t.travel_days and t.leave > self.today]
        leave = min(ahead, default=None)
        return leave if leave and (leave - self.today).days < 14 else None

    def day(self, day: date) -> DayLine:
        entries = [due.title for due in self.due if due.day == day and due.kind not in PLAYING]
        playing = [e.place.place_name for e in self.material.going if e.start <= day <= e.end]
        busy = [b.why or _("Busy") for b in self.material.busy if b.start <= day <= b.end]
        events = [_("%(place)s: event") % {"place": place} for place in playing]
        label = pgettext("short weekday and day of the month", "%(weekday)s %(day)d") % {
            "weekday": short_weekday(day),
            "day": day.day,
        }
        return DayLine(day.isoformat(), label, (*entries, *events, *busy))

    def next_event(self) -> NextEvent | None:
        event = next((e for e in self.material.going if e.start > self.today), None)
        if event is None:
            return None
        return NextEvent(
            name=event.name,
            url=reverse("planned-event", args=[self.material.plan.pk, event.pk]),
            place=event.place.place_name,
            surface=event.surface,
            surface_label=surface_with_roof(event.surface, indoor=event.indoor),
            dates=days(event.start, event.end),
            wait=wait_words(event.start, self.today),
            is_target=self.material.role(event) == "target",
            travel=tuple(self._travel(self.trips.get(event.pk))),
        )

    def _travel(self, trip: Trip | None) -> Iterator[str]:
        if trip is None:
            return
        if trip.travel_days:
            yield (
                _("Leave %(day)s, %(wait)s")
                % {
                    "day": weekday_day(trip.leave),
                    "wait": wait_words(trip.leave, self.today),
                }
                if trip.leave >= self.today
                else _("Left %(day)s") % {"day": weekday_day(trip.leave)}
            )
        yield _("Be there by %(day)s") % {"day": weekday_day(trip.arrive)}
        if trip.flight_tenths and trip.travel_days:
            yield _("About %(hours)s hours of flight (an estimate)") % {
                "hours": number(trip.flight_hours, 1)
            }
        if settle := trip.acclimatisation.days:
            yield ngettext("%(count)d day to settle in", "%(count)d days to settle in", settle) % {
                "count": settle
            }

    def next_deadline(self) -> Deadline | None:
        ahead = (due for due in self.due if due.kind in DEADLINES and due.day >= self.today)
        due = next(ahead, None)
        if due is None:
            return None
        return Deadline(
            _("%(title)s: by %(day)s") % {"title": due.title, "day": weekday_day(due.day)},
            wait_words(due.day, self.today),
            (due.day - self.today).days <= 7,
        )


# The year ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class YearEvent:
    """An event in a week; in the weeks after its first it only goes on."""

    name: str
    url: str
    place: str
    surface: str
    surface_label: str
    dates: str
    is_target: bool
    notes: tuple[str, ...]
    goes_on: bool


@dataclass(frozen=True)
class YearWeek:
    number: int
    dates: str
    first: str
    last: str
    is_now: bool
    in_peak: bool
    events: tuple[YearEvent, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Stretch:
    """Weeks of one block; the past ones fold away."""

    phase: str
    label: str
    length: str
    is_past: bool
    weeks: tuple[YearWeek, ...]


@dataclass(frozen=True)
class YearPage:
    title: str
    empty: str = ""
    past: tuple[Stretch, ...] = ()
    stretches: tuple[Stretch, ...] = ()


def year_page(material: Material | None, *, today: date) -> YearPage:
    """The season as a list of weeks, block by block: the planner's weeks, read for the phone."""
    if material is None:
        return YearPage(_("Season"), empty=_(NO_PLAN))
    plan = material.plan
    page = season_page(material, today=today, may_change=False, may_plan=False)
    weeks = [week for row in page.rows for week in row.weeks]
    events = _events_by_week(material, weeks)
    stretches = [
        Stretch(
            phase=run[0].phase,
            label=run[0].phase_label or _("No phase"),
            length=week_count(len(run)),
            is_past=run[-1].is_past,
            weeks=tuple(_year_week(week, events.get(week.iso, [])) for week in run),
        )
        for run in _runs(weeks, {block.start for block in material.blocks})
    ]
    return YearPage(
        title=_("Season %(season)s") % {"season": season_name(plan.start, plan.end)},
        past=tuple(s for s in stretches if s.is_past),
        stretches=tuple(s for s in stretches if not s.is_past),
    )


def _runs(weeks: Sequence[WeekView], block_starts: set[date]) -> list[list[WeekView]]:
    """Weeks one after the other that belong to the same block, or to none."""
    runs: list[list[WeekView]] = []
    for week in weeks:
        begins = _monday(week.iso) in block_starts
        if runs and runs[-1][-1].phase == week.phase and not begins:
            runs[-1].append(week)
        else:
            runs.append([week])
    return runs


def _monday(iso: str) -> date:
    year, number = iso.split("-W")
    return date.fromisocalendar(int(year), int(number), 1)


def _year_week(week: WeekView, events: list[YearEvent]) -> YearWeek:
    monday = _monday(week.iso)
    sunday = monday + timedelta(days=6)
    return YearWeek(
        number=week.number,
        dates=days(monday, sunday),
        first=monday.isoformat(),
        last=sunday.isoformat(),
        is_now=week.is_now,
        in_peak=week.in_peak,
        events=tuple(events),
        notes=(*week.notes, *week.busy),
    )


def _events_by_week(material: Material, weeks: Sequence[WeekView]) -> dict[str, list[YearEvent]]:
    """Each event in every week that it takes, from the card of its first week."""
    cards: dict[int, CardView] = {}
    for week in weeks:
        for card in week.cards:
            cards.setdefault(card.event_id, card)
    found: dict[str, list[YearEvent]] = {}
    for event in material.played:
        card = cards[event.pk]
        taken = event_weeks(event.start, event.end, material.plan.start)
        for index in taken:
            goes_on = index > taken.start
            said = () if goes_on else (card.arrive, card.origin, *card.plain_marks)
            found.setdefault(weeks[index].iso, []).append(
                YearEvent(
                    name=event.name,
                    url=card.url,
                    place=card.place,
                    surface=card.surface,
                    surface_label=card.surface_label,
                    dates=card.dates,
                    is_target=card.is_target,
                    notes=tuple(note for note in said if note),
                    goes_on=goes_on,
                )
            )
    return found
