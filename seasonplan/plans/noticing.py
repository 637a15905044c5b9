"""Who has yet to hear that another plan is in force, and what they are told of it.

Everybody who sees the plan is told once: until they open the page of changes or put the notice
away. Who put the plan in force knows.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.academy.models import Person
from seasonplan.plans.access import SeasonPlanQuerySet
from seasonplan.plans.models import ChangeSeen, PlannedEvent, SeasonPlan
from seasonplan.plans.planner import season_name
from seasonplan.science.words import day_month


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
    season = season_name(plan.start, plan.end)
    said = _in_short(len(now - before), len(before - now))
    text = _("The plan for %(season)s changed: %(changes)s.") % {"season": season, "changes": said}
    if plan.in_force_since:
        text = _("The plan for %(season)s changed on %(day)s: %(changes)s.") % {
            "season": season,
            "day": day_month(timezone.localdate(plan.in_force_since)),
            "changes": said,
        }
    return ChangeNotice(
        text=text,
        url=reverse("plan-changes", args=[plan.pk]),
    )


def _in_short(new: int, gone: int) -> str:
    if not new and not gone:
        return _("no event is new or gone")
    joined = ngettext("%(count)d event new", "%(count)d events new", new) % {"count": new}
    if not gone:
        return joined
    if not new:
        return ngettext("%(count)d event gone", "%(count)d events gone", gone) % {"count": gone}
    return ngettext("%(new)s, %(count)d gone", "%(new)s, %(count)d gone", gone) % {
        "new": joined,
        "count": gone,
    }


def has_seen(plan: SeasonPlan, person: Person) -> None:
    """Tell this person no more of what the plan changed."""
    ChangeSeen.objects.get_or_create(person=person, plan=plan)
