"""What changed in the calendar under a plan: which of its events were moved or cancelled since.

A plan is marked until somebody who plans has seen it. Everybody else who sees the plan reads of a
change for four weeks, even if the coach has put it away by then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby
from typing import Final

from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from seasonplan.events.change_words import change_words
from seasonplan.events.models import Event, EventChange
from seasonplan.plans.models import PlannedEvent, SeasonPlan

NEWS_DAYS: Final = 28
"""For so long a change is told to those who do not plan."""


@dataclass(frozen=True)
class ChangedEvent:
    """An event of the plan and what became of it, one phrase a change; `outside` where it does not
    lie in the season any more."""

    name: str
    url: str
    words: tuple[str, ...]
    outside: bool


@dataclass(frozen=True)
class CalendarNews:
    """`seen_url` and `upto` are what to send once it is seen, and `re_plan_url` is where to lay out
    anew, for who may plan; else empty."""

    events: tuple[ChangedEvent, ...]
    seen_url: str
    upto: str
    re_plan_url: str


def calendar_news(plan: SeasonPlan, *, today: date, may_plan: bool) -> CalendarNews | None:
    """What to tell of the calendar under this plan, or None. One query."""
    return calendar_news_of([plan], today=today, may_plan=may_plan)


def calendar_news_of(
    plans: Sequence[SeasonPlan], *, today: date, may_plan: bool
) -> CalendarNews | None:
    """The same for several plans in one query; it can be put away only where there is one."""
    by_id = {plan.pk: plan for plan in plans if not _is_history(plan, today)}
    if not by_id:
        return None
    since = {pk: _since(plan, today, may_plan) for pk, plan in by_id.items()}
    rows = (
        EventChange.objects.filter(
            event__planned__plan__in=by_id,
            event__planned__played=True,
            at__gt=min(since.values()),
        )
        .annotate(plan_id=F("event__planned__plan_id"))
        .select_related("event", "who")
        .order_by("event__start", "event_id", "plan_id", "at", "pk")
    )
    changes = [row for row in rows if row.at > since[row.plan_id]]
    if not changes:
        return None
    acts = may_plan and len(plans) == 1
    return CalendarNews(
        events=tuple(
            _changed(by_id[plan_id], event, list(same), may_plan)
            for (event, plan_id), same in groupby(changes, key=lambda row: (row.event, row.plan_id))
        ),
        seen_url=reverse("calendar-seen", args=[plans[0].pk]) if acts else "",
        upto=max(row.at for row in changes).isoformat() if acts else "",
        re_plan_url=reverse("plan-re-plan", args=[plans[0].pk]) if acts else "",
    )


def news_of_event(
    plan: SeasonPlan, event: Event, *, today: date, may_plan: bool
) -> tuple[str, ...]:
    """The same of one event; makes no query where it did not change."""
    since = _since(plan, today, may_plan)
    if event.changed_at is None or event.changed_at <= since or _is_history(plan, today):
        return ()
    changes = event.changes.filter(at__gt=since).select_related("who")
    return change_words(changes, with_names=may_plan)


def is_marked(plan: SeasonPlan, event: Event) -> bool:
    """Whether the event changed since somebody who plans looked at the plan."""
    if plan.standing == SeasonPlan.Standing.REPLACED or event.changed_at is None:
        return False
    return event.changed_at > plan.calendar_seen_at


def marks_of_plans(plans: Sequence[SeasonPlan], *, today: date, may_plan: bool) -> dict[int, str]:
    """Of those of these plans that are marked: `Harbour Open and 2 more events changed`."""
    told = Q(event__changed_at__gt=F("plan__calendar_seen_at"))
    if not may_plan:
        told |= Q(event__changed_at__gt=_news_from(today))
    rows = (
        PlannedEvent.objects.filter(
            told, played=True, plan__in=[plan.pk for plan in plans if not _is_history(plan, today)]
        )
        .order_by("plan_id", "event__start", "event_id")
        .values_list("plan_id", "event__name")
    )
    found = {}
    for plan_id, same in groupby(rows, key=lambda row: row[0]):
        names = [name for _plan, name in same]
        more = len(names) - 1
        said = _("%(event)s changed in the calendar")
        if more:
            said = ngettext(
                "%(event)s and %(count)d more event changed in the calendar",
                "%(event)s and %(count)d more events changed in the calendar",
                more,
            )
        found[plan_id] = said % {"event": names[0], "count": more}
    return found


def mark_seen(plan: SeasonPlan, upto: datetime, *, now: datetime) -> None:
    """Put away what changed up to this moment; what changed later stays."""
    upto = min(upto, now)
    SeasonPlan.objects.filter(pk=plan.pk, calendar_seen_at__lt=upto).update(calendar_seen_at=upto)


def _changed(
    plan: SeasonPlan, event: Event, changes: list[EventChange], may_plan: bool
) -> ChangedEvent:
    outside = event.start < plan.start or event.end > plan.end
    return ChangedEvent(
        name=event.name,
        url=reverse("event", args=[event.pk])
        if outside
        else reverse("planned-event", args=[plan.pk, event.pk]),
        words=change_words(changes, with_names=may_plan),
        outside=outside,
    )


def _is_history(plan: SeasonPlan, today: date) -> bool:
    return plan.standing == SeasonPlan.Standing.REPLACED or plan.end < today


def _since(plan: SeasonPlan, today: date, may_plan: bool) -> datetime:
    seen: datetime = plan.calendar_seen_at
    return seen if may_plan else min(seen, _news_from(today))


def _news_from(today: date) -> datetime:
    first = today - timedelta(days=NEWS_DAYS)
    return timezone.make_aware(datetime.combine(first, time.min))
