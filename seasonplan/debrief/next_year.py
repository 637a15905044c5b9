"""From one season into the next: its plan, the decisions that it starts with, events that recur.

A season's plan in force is not touched: decisions go into a working copy of the next season, which
is begun here where there is none.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.db import transaction
from django.db.models import prefetch_related_objects
from django.urls import reverse
from django.utils.translation import gettext as _

from seasonplan.academy.models import Person
from seasonplan.debrief.meeting import days_of_year, from_to, source_of
from seasonplan.debrief.models import Decision
from seasonplan.events.models import Event
from seasonplan.plans.carrying import Carried, Carry, carry_over
from seasonplan.plans.models import CarriedOver, LevelWorth, SeasonPlan
from seasonplan.plans.planner import season_name
from seasonplan.plans.standing import copy_plan, start_plan
from seasonplan.plans.terms import plan_standing_word, surface_word
from seasonplan.science.layout.problem import Limits

ABOUT_A_YEAR = range(48, 57)  # weeks
NEAR_DAYS = 28
"""An event of the same name this near to where it would recur is that event."""

EARLIEST = timedelta(weeks=4)
LATEST = timedelta(weeks=26)
"""A plan that begins from so long before this season's end to so long after it is the next one."""


# The next season ------------------------------------------------------------------------------


def a_year_on(day: date) -> date:
    """The same weekday of the same ISO week a year later; week 53 becomes 52 where there is none.

    That is 364 or 371 days on: 12 January 2026, a Monday of week 3, gives 18 January 2027.
    """
    year, week, weekday = day.isocalendar()
    try:
        return date.fromisocalendar(year + 1, week, weekday)
    except ValueError:
        return date.fromisocalendar(year + 1, 52, weekday)


def next_season_days(plan: SeasonPlan) -> tuple[date, date]:
    """First Monday and last Sunday of the season after this one.

    A season of about a year is followed at once by one of 52 or 53 weeks, up to the ISO week in
    which it began. A shorter or longer one comes again in the same ISO weeks.
    """
    weeks = ((plan.end - plan.start).days + 1) // 7
    if weeks in ABOUT_A_YEAR:
        start = plan.end + timedelta(days=1)
        return start, a_year_on(start) - timedelta(days=1)
    start = max(a_year_on(plan.start), plan.end + timedelta(days=1))
    return start, start + timedelta(weeks=weeks, days=-1)


def next_plans(plan: SeasonPlan, plans: Sequence[SeasonPlan]) -> list[SeasonPlan]:
    """Those of the player's plans that are for the season after this one: in force first."""
    later = [
        other
        for other in plans
        if other.start > plan.start and plan.end - EARLIEST <= other.start <= plan.end + LATEST
    ]
    found = [other for other in later if other.start == later[0].start]
    prefetch_related_objects(found, "carried_over")
    return found


@dataclass(frozen=True)
class NextYear:
    """What the debrief says of the next season to its coach.

    `into` are (value, what the button says) of the plans that can take the decisions: working
    copies, a copy of the plan in force, or a new plan. `links` are (name, standing, address) of
    what stands already.
    """

    name: str
    when: str
    into: tuple[tuple[str, str], ...]
    links: tuple[tuple[str, str, str], ...]
    events_url: str


NEW = "new"
COPY = "copy"


def next_year_part(plan: SeasonPlan, plans: Sequence[SeasonPlan]) -> NextYear:
    start, end = (plans[0].start, plans[0].end) if plans else next_season_days(plan)
    copies = [p for p in plans if p.standing == SeasonPlan.Standing.WORKING_COPY]
    into = [
        (str(p.pk), _("Carry the decisions into “%(plan)s”") % {"plan": p.name}) for p in copies
    ]
    if not plans:
        into = [(NEW, _("Start next year’s plan from these decisions"))]
    elif not copies:
        into = [(COPY, _("Carry the decisions in a working copy of the plan in force"))]
    return NextYear(
        name=season_name(start, end),
        when=from_to(start, end),
        into=tuple(into),
        links=tuple(
            (p.name, plan_standing_word(p.standing), reverse("season", args=[p.pk])) for p in plans
        ),
        events_url=reverse("next-year-events", args=[plan.pk]),
    )


def standing_of_decisions(plans: Sequence[SeasonPlan]) -> dict[str, str]:
    """By source: in which plans of the next season a decision stands, or was taken back."""
    stands: dict[str, list[str]] = {}
    for plan in plans:
        for row in plan.carried_over.all():
            if row.taken_back:
                how = _("taken back in “%(plan)s”")
            elif row.event_id is None and row.kind in OF_AN_EVENT:
                how = _("waits for its event in “%(plan)s”")
            else:
                how = _("carried into “%(plan)s”")
            stands.setdefault(row.source, []).append(how % {"plan": plan.name})
    return {source: "; ".join(words) for source, words in stands.items()}


OF_AN_EVENT = (CarriedOver.Kind.TARGET, CarriedOver.Kind.EVENT_WORTH)


@transaction.atomic
def carry_into_next_year(
    plan: SeasonPlan,
    decisions: Sequence[Decision],
    *,
    into: SeasonPlan | None,
    copy: bool = False,
    by: Person | None = None,
) -> tuple[SeasonPlan, Carried]:
    """Start next year's plan, or copy the one in force, or take a working copy; carry over.

    `into` is the working copy, or the plan to copy; None starts a plan. Returns the working copy
    and what changed in it. Raises Stale.
    """
    target = into
    if target is None:
        target = _start_next(plan)
    elif copy:
        name = _("%(plan)s with decisions") % {"plan": target.name[:60]}
        target = copy_plan(target, name=name)
    standing = [decision for decision in decisions if decision.taken_back_at is None]
    withdrawn = {source_of(d) for d in decisions if d.taken_back_at is not None}
    carries = _carries(plan, target, standing)
    return target, carry_over(target, carries, withdrawn=withdrawn, by=by)


def _start_next(plan: SeasonPlan) -> SeasonPlan:
    """An empty working copy with this season's limits and worths; what said how this season began,
    and its budget, are not for the next one."""
    start, end = next_season_days(plan)
    usual = Limits()
    made = start_plan(
        player=plan.player,
        name=_("Season %(season)s") % {"season": season_name(start, end)},
        start=start,
        end=end,
        limits=replace(
            plan.parsed_limits,
            first_phase=usual.first_phase,
            weeks_already_done=usual.weeks_already_done,
            budget=usual.budget,
        ),
    )
    LevelWorth.objects.bulk_create(
        LevelWorth(plan=made, level=row.level, worth=row.worth) for row in plan.level_worths.all()
    )
    return made


def _carries(plan: SeasonPlan, target: SeasonPlan, decisions: Sequence[Decision]) -> list[Carry]:
    calendar = _Calendar(
        Event.objects.filter(
            academy_id=plan.player.academy_id, start__gte=target.start, end__lte=target.end
        )
        if any(decision.event_id for decision in decisions)
        else ()
    )
    origin = _("the debrief of %(season)s") % {"season": season_name(plan.start, plan.end)}
    why = reverse("debrief-of-season", args=[plan.player_id, plan.start.isoformat()])
    return [
        Carry(
            source=source_of(decision),
            text=decision.text,
            kind=decision.kind,
            origin=origin,
            why_path=f"{why}#decision-{decision.pk}",
            subject=decision.subject,
            event=calendar.again(decision.event) if decision.event else None,
            value=decision.value,
        )
        for decision in decisions
    ]


# Events that recur ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Proposal:
    """An event of the season, as it would be a year on; `there` says which event it is already."""

    event_id: int
    name: str
    place: str
    was: str
    will_be: str
    surface: str
    surface_word: str
    played: bool
    there: str


class _Calendar:
    """Events by name, to find out which of them an event is when it comes again."""

    def __init__(self, events: Iterable[Event]) -> None:
        self._by_name: dict[str, list[Event]] = {}
        for event in events:
            self._by_name.setdefault(_plain(event.name), []).append(event)

    def again(self, event: Event) -> Event | None:
        """The event of the same name, whatever year it names, nearest to where it would recur."""
        expected = a_year_on(event.start)
        near = [
            other
            for other in self._by_name.get(_plain(event.name), ())
            if other.pk != event.pk and abs((other.start - expected).days) <= NEAR_DAYS
        ]
        return min(near, key=lambda other: abs((other.start - expected).days), default=None)


def _plain(name: str) -> str:
    """The name without capitals, spaces and years: `Lantern Open 2027` is `lantern open`."""
    return " ".join(re.sub(r"\b(?:19|20)\d\d\b", " ", name.casefold()).split())


def _next_name(event: Event, start: date) -> str:
    return re.sub(rf"\b{event.start.year}\b", str(start.year), event.name)


def proposals(plan: SeasonPlan) -> list[Proposal]:
    """The calendar's events of this season as they would recur; those played come first."""
    played = set(plan.planned_events.filter(played=True).values_list("event_id", flat=True))
    events = _events_of(plan)
    calendar = _Calendar(_events_after(plan))
    found = []
    for event in events:
        start = a_year_on(event.start)
        end = start + (event.end - event.start)
        there = calendar.again(event)
        found.append(
            Proposal(
                event_id=event.pk,
                name=_next_name(event, start),
                place=str(event.place),
                was=days_of_year(event.start, event.end),
                will_be=days_of_year(start, end),
                surface=event.surface,
                surface_word=surface_word(event.surface),
                played=event.pk in played,
                there=days_of_year(there.start, there.end) if there else "",
            )
        )
    return sorted(found, key=lambda proposal: not proposal.played)


def _events_of(plan: SeasonPlan) -> list[Event]:
    return list(
        Event.objects.filter(
            academy_id=plan.player.academy_id, start__gte=plan.start, end__lte=plan.end
        )
        .select_related("place")
        .order_by("start", "end", "pk")
    )


def _events_after(plan: SeasonPlan) -> list[Event]:
    around = timedelta(days=NEAR_DAYS)
    return list(
        Event.objects.filter(
            academy_id=plan.player.academy_id,
            start__gte=a_year_on(plan.start) - around,
            start__lte=a_year_on(plan.end) + around,
        )
    )


@transaction.atomic
def add_proposals(plan: SeasonPlan, event_ids: Collection[int]) -> list[Event]:
    """Put these events of the season a year on into the calendar, marked as not confirmed.

    One that the calendar has by then already is left as it is. Returns what was added.
    """
    calendar = _Calendar(_events_after(plan))
    made = []
    for event in _events_of(plan):
        if event.pk not in event_ids or calendar.again(event):
            continue
        start = a_year_on(event.start)
        shift = start - event.start
        copy = Event(
            academy_id=event.academy_id,
            place_id=event.place_id,
            name=_next_name(event, start),
            start=start,
            end=event.end + shift,
            surface=event.surface,
            indoor=event.indoor,
            draw_size=event.draw_size,
            level=event.level,
            high_c=event.high_c,
            humidity_percent=event.humidity_percent,
            entry_fee=event.entry_fee,
            dates_unconfirmed=True,
        )
        copy.full_clean(exclude=["academy", "place"])
        copy.save()
        made.append(copy)
    return made
