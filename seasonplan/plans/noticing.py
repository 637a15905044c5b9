"""Who has yet to hear that another plan is in force, and what they are told of it.

Everybody who sees the plan is told once: until they open the page of changes or put the notice
away. Who put the plan in force knows.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.urls import reverse
from django.utils import timezone

from seasonplan.academy.models import Person
from seasonplan.plans.access import SeasonPlanQuerySet
from seasonplan.plans.models import ChangeSeen, PlannedEvent, SeasonPlan
from seasonplan.plans.planner import season_name
from seasonplan.science.layout.wording import count, day_month


@dataclass(frozen=True)
class ChangeNotice:
    """`url` is the page of changes; posting to it puts the notice away."""

    text: str
    url: str


def change_notices(
    plans: SeasonPlanQuerySet, person: Person, *, today: date
) -> tuple[ChangeNotice, ...]:
    """What to tell this person of these plans that they see; one query where there is nothing.

    A season that is over is no news.
    """
    changed = list(plans.news_to(person).filter(end__gte=today).order_by("start"))
    if not changed:
        return ()
    ids = {pk for plan in changed for pk in (plan.pk, plan.replaces_id)}
    events: dict[int, set[int]] = {pk: set() for pk in ids}
    rows = PlannedEvent.objects.filter(plan__in=ids, played=True)
    for plan_id, event_id in rows.values_list("plan_id", "event_id"):
        events[plan_id].add(event_id)
    return tuple(_notice(plan, events[plan.pk], events[plan.replaces_id]) for plan in changed)


def _notice(plan: SeasonPlan, now: set[int], before: set[int]) -> ChangeNotice:
    on = ""
    if plan.in_force_since:
        on = f" on {day_month(timezone.localdate(plan.in_force_since))}"
    said = _in_short(len(now - before), len(before - now))
    return ChangeNotice(
        text=f"The plan for {season_name(plan.start, plan.end)} changed{on}: {said}.",
        url=reverse("plan-changes", args=[plan.pk]),
    )


def _in_short(new: int, gone: int) -> str:
    if not new and not gone:
        return "no event is new or gone"
    words = [f"{count(new, 'event')} new"] if new else []
    words += [f"{gone} gone" if new else f"{count(gone, 'event')} gone"] if gone else []
    return ", ".join(words)


def has_seen(plan: SeasonPlan, person: Person) -> None:
    """Tell this person no more of what the plan changed."""
    ChangeSeen.objects.get_or_create(person=person, plan=plan)
