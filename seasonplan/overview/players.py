"""The players a person may see, and one player's seasons: what stands where, and what is next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, Exists, OuterRef, Prefetch, Q
from django.urls import reverse
from django.utils.translation import gettext as _

from seasonplan.academy.models import HomeBase, Person, Player
from seasonplan.checkins.unread import unread_counts
from seasonplan.plans.calendar_news import marks_of_plans
from seasonplan.plans.models import BusyTime, PlannedEvent, SeasonPlan
from seasonplan.plans.planner import season_name
from seasonplan.plans.terms import surface_word
from seasonplan.science.layout.wording import event_count
from seasonplan.science.words import days, weekday_day


@dataclass(frozen=True)
class PlayerLine:
    """One player in the list; `changes_url` where the plan changed and the reader has not heard."""

    name: str
    url: str
    age: str
    home: str
    season: str
    phase: str
    next_event: str
    next_step: str
    step_url: str
    unread: int
    page_url: str
    changes_url: str


@dataclass(frozen=True)
class PlanRow:
    name: str
    url: str
    season: str
    standing: str
    events: str
    copy_url: str
    may_delete: bool
    delete_url: str
    changed: str


@dataclass(frozen=True)
class BusyRow:
    dates: str
    why: str
    remove_url: str


@dataclass(frozen=True)
class PlayerPage:
    player: Player
    facts: tuple[tuple[str, str], ...]
    has_home: bool
    may_change: bool
    may_plan: bool
    plans: tuple[PlanRow, ...]
    busy: tuple[BusyRow, ...]


def player_lines(person: Person, *, today: date) -> list[PlayerLine]:
    """Every player that the person may see, in as many queries however many there are."""
    news = SeasonPlan.objects.news_to(person).filter(pk=OuterRef("pk"))
    in_force = (
        SeasonPlan.objects.filter(standing=SeasonPlan.Standing.IN_FORCE, end__gte=today)
        .annotate(is_news=Exists(news))
        .order_by("start")
    )
    upcoming = PlannedEvent.objects.filter(
        played=True, event__end__gte=today, event__cancelled=False
    ).select_related("event__place")
    working = SeasonPlan.objects.filter(
        player=OuterRef("pk"), standing=SeasonPlan.Standing.WORKING_COPY
    )
    players = (
        Player.objects.visible_to(person)
        .select_related("home_base")
        .annotate(
            has_working_copy=Exists(working),
            may_plan=Exists(Player.objects.planned_by(person).filter(pk=OuterRef("pk"))),
        )
        .prefetch_related(
            Prefetch(
                "plans",
                in_force.prefetch_related(
                    Prefetch("planned_events", upcoming, to_attr="upcoming"), "blocks"
                ),
                to_attr="current_plans",
            )
        )
    )
    unread = unread_counts(person, today=today)
    return [_line(player, unread[player.pk], today) for player in players]


def _line(player: Any, unread: int, today: date) -> PlayerLine:
    age = player.age_on(today)
    home: HomeBase | None = getattr(player, "home_base", None)
    plan = player.current_plans[0] if player.current_plans else None
    changed = next((plan for plan in player.current_plans if plan.is_news), None)
    upcoming = plan.upcoming if plan else []
    block = next(
        (b for b in plan.blocks.all() if b.start <= today < b.start + timedelta(weeks=b.weeks)),
        None,
    ) if plan else None  # fmt: skip
    if home is None:
        step = _("Set the home base")
    elif plan is None and player.may_plan:
        step = _("Put a working copy in force") if player.has_working_copy else _("Start a season")
    else:
        step = ""
    phase = block.get_phase_display() if block else ""
    if plan is None:
        phase = _("No plan in force yet")
    if plan and not phase:
        begins = _("begins %(day)s") % {"day": weekday_day(plan.start)}
        phase = begins if plan.start > today else ""
    return PlayerLine(
        name=player.name,
        url=reverse("season", args=[plan.pk]) if plan else reverse("player", args=[player.pk]),
        age="" if age is None else str(age),
        home=home.place_name if home else "",
        season=season_name(plan.start, plan.end) if plan else "",
        phase=phase,
        next_event=f"{upcoming[0].event.place.place_name}, "
        f"{days(upcoming[0].event.start, upcoming[0].event.end)}"
        if upcoming
        else "",
        next_step=step,
        step_url=reverse("player" if home else "player-edit", args=[player.pk]),
        unread=unread,
        page_url=reverse("player", args=[player.pk]),
        changes_url=reverse("plan-changes", args=[changed.pk]) if changed else "",
    )


def player_page(player: Player, person: Person, *, today: date) -> PlayerPage:
    """A player's page for this reader; a plan says which of its events changed in the calendar."""
    may_plan = Player.objects.planned_by(person).filter(pk=player.pk).exists()
    may_change = may_plan or Player.objects.editable_by(person).filter(pk=player.pk).exists()
    home: HomeBase | None = getattr(player, "home_base", None)
    age = player.age_on(today)
    facts = []
    if age is not None:
        facts.append((_("Age"), str(age)))
    if home is not None:
        facts.append((_("Home base"), f"{home.place_name}, {surface_word(home.surface)}"))
    plans = list(
        SeasonPlan.objects.visible_to(person)
        .filter(player=player)
        .annotate(
            played_events=Count(
                "planned_events", filter=Q(planned_events__played=True), distinct=True
            )
        )
        # Counting in groups leaves out the order that the model says.
        .order_by("-start", "standing", "name", "pk")
    )
    changed = marks_of_plans(plans, today=today, may_plan=may_plan)
    return PlayerPage(
        player=player,
        facts=tuple(facts),
        has_home=home is not None,
        may_change=may_change,
        may_plan=may_plan,
        plans=tuple(
            PlanRow(
                name=plan.name,
                url=reverse("season", args=[plan.pk]),
                season=season_name(plan.start, plan.end),
                standing=plan.get_standing_display(),
                events=event_count(plan.played_events)
                if plan.played_events
                else _("not laid out yet"),
                copy_url=reverse("plan-copy", args=[plan.pk]),
                may_delete=may_plan and plan.standing == SeasonPlan.Standing.WORKING_COPY,
                delete_url=reverse("plan-delete", args=[plan.pk]),
                changed=changed.get(plan.pk, ""),
            )
            for plan in plans
        ),
        busy=tuple(
            BusyRow(
                dates=days(busy.start, busy.end) + f" {busy.end.year}",
                why=busy.why or _("Busy"),
                remove_url=reverse("busy-remove", args=[busy.pk]),
            )
            for busy in BusyTime.objects.visible_to(person).filter(
                player=player, end__gte=today - timedelta(days=90)
            )
        ),
    )


def next_season(today: date) -> dict[str, Any]:
    """What a new season most likely is: the calendar year that begins next, in whole weeks."""
    year = today.year + 1 if today.month >= 7 else today.year
    start = date.fromisocalendar(year, 1, 1)
    end = date.fromisocalendar(year + 1, 1, 1) - timedelta(days=1)
    return {
        "name": _("Season %(season)s") % {"season": year},
        "start": start,
        "weeks": ((end - start).days + 1) // 7,
        "preset": "standard",
    }
