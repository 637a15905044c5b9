"""What each event and each limit costs, and who stands in: worked out when asked, never kept.

A whole part is a streamed page: its rows are written as they are found, and once more in order at
the end, where the style sheet hides the first. So it is one and the same with and without a script.
A single price is a piece of the panel or of a row, or a page of its own.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import Any, cast

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from seasonplan.academy.access import get_planned
from seasonplan.academy.models import Person
from seasonplan.events.models import Event
from seasonplan.plans.laying_out import Material, gather
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.naming import why_impossible
from seasonplan.plans.price_page import (
    Ask,
    Row,
    Section,
    event_ask,
    event_row,
    in_order,
    limit_asks,
    limit_row,
    prices_page,
    remark_of,
    stand_in_ask,
    stand_in_lines,
    stand_in_summary,
    summary,
)
from seasonplan.plans.pricing import (
    Base,
    base_of,
    candidates,
    loosenings,
    may_ask,
    priced_events,
    priced_limits,
    revision_now,
    stand_ins_for,
    to_play,
    unsure_of_entry,
)
from seasonplan.science.layout.solver import Impossible
from seasonplan.web.htmx import page_or_pieces

PLANS = SeasonPlan.objects.select_related("player__academy")
ROWS_HERE, FOUND_HERE = "<!--rows-->", "<!--found-->"
"""Where the page is interrupted. No text can contain them: what is printed is escaped."""


def _material(request: HttpRequest, plan_id: int) -> Material:
    return gather(get_planned(PLANS, cast(Person, request.user), pk=plan_id))


def _context(request: HttpRequest, material: Material) -> dict[str, Any]:
    plan, person = material.plan, cast(Person, request.user)
    return {
        "plan": plan,
        "material": material,
        "may_change": SeasonPlan.objects.editable_by(person).filter(pk=plan.pk).exists(),
        "seconds": settings.LAYOUT_SECONDS,
    }


def _found(material: Material, base: Base | None) -> dict[str, Any]:
    """What an answer rests on: which revision, which season, and whether that has moved on."""
    now = revision_now(material.plan)
    return {
        "remark": remark_of(base) if base else "",
        "moved_on": now != material.plan.revision,
        "revision_now": now,
    }


@require_safe
def prices(request: HttpRequest, plan_id: int) -> HttpResponseBase:
    """What can be asked; with `?part=` all prices of a part, as they are found."""
    material = _material(request, plan_id)
    asked = request.GET.get("part", "") if may_ask(material) and request.method == "GET" else ""
    page = prices_page(material, today=timezone.localdate(), asked=asked)
    context = _context(request, material) | {"page": page}
    if page.asked is None:
        return render(request, "plans/prices.html", context)
    # Rendered whole before the answer begins: messages and cookies go out with its head.
    html = render_to_string("plans/prices.html", context, request)
    answer = StreamingHttpResponse(_streamed(request, material, page.asked, html, context))
    answer["X-Accel-Buffering"] = "no"  # a proxy in front passes each row on
    return answer


def _streamed(
    request: HttpRequest,
    material: Material,
    section: Section,
    html: str,
    context: dict[str, Any],
) -> Iterator[str]:
    head, rest = html.split(ROWS_HERE, 1)
    middle, tail = rest.split(FOUND_HERE, 1)
    yield head
    rows: list[Row] = []
    base, trouble = None, ""
    shown = {"columns": section.columns, "arriving": True}
    until = time.monotonic() + settings.LAYOUT_SECONDS
    try:
        base = base_of(material, today=timezone.localdate(), seconds=settings.LAYOUT_SECONDS / 2)
        for row in _rows(material, base, section, until):
            rows.append(row)
            yield render_to_string("plans/_price_row.html", shown | {"row": row})
    except Impossible as reason:
        trouble = _no_season(reason, material)
    yield middle
    priced = {row.ask.key for row in rows}
    more = {
        "section": section,
        "rows": in_order(rows),
        "left": [ask for ask in section.asks if ask.key not in priced],
        "trouble": trouble,
        "summary": summary(section, rows, material),
        **_found(material, base),
    }
    yield render_to_string("plans/_prices_found.html", context | more)
    yield tail


def _rows(material: Material, base: Base, section: Section, until: float) -> Iterator[Row]:
    if section.part == "limits":
        wanted = loosenings(base.problem.limits).values()
        for limit in priced_limits(base, wanted, until=until):
            yield limit_row(material, base, limit)
        return
    events = candidates if section.part == "candidates" else to_play
    for found in priced_events(base, events(material, today=timezone.localdate()), until=until):
        yield event_row(material, base, found)


# One price ----------------------------------------------------------------------------------------


@require_safe
def event_price(request: HttpRequest, plan_id: int, event_id: int) -> HttpResponse:
    """What playing one event would cost, or leaving it out."""
    material = _material(request, plan_id)
    today = timezone.localdate()
    askable = [*candidates(material, today=today), *to_play(material, today=today)]
    event = _event(askable, event_id)

    def priced(base: Base) -> Row:
        [found] = priced_events(base, [event], until=_until())
        return event_row(material, base, found)

    return _one_price(request, material, event_ask(material, event), priced)


@require_safe
def limit_price(request: HttpRequest, plan_id: int, key: str) -> HttpResponse:
    """What one limit one unit looser would give."""
    material = _material(request, plan_id)
    ask = next((ask for ask in limit_asks(material) if ask.key == key), None)
    if ask is None:
        raise Http404

    def priced(base: Base) -> Row:
        [found] = priced_limits(base, [loosenings(base.problem.limits)[key]], until=_until())
        return limit_row(material, base, found)

    return _one_price(request, material, ask, priced)


def _event(askable: list[Event], event_id: int) -> Event:
    event = next((event for event in askable if event.pk == event_id), None)
    if event is None:
        raise Http404
    return event


def _until() -> float:
    return time.monotonic() + settings.LAYOUT_SECONDS / 2


def _one_price(
    request: HttpRequest, material: Material, ask: Ask, priced: Callable[[Base], Row]
) -> HttpResponse:
    context = _context(request, material) | {"ask": ask}
    base, trouble = _base(material)
    if base:
        context["priced"] = priced(base)
    return page_or_pieces(
        request,
        page="plans/price.html",
        pieces=["plans/_price.html"],
        context=context | {"trouble": trouble} | _found(material, base),
    )


def _base(material: Material) -> tuple[Base | None, str]:
    """The season to count from, or why there is none."""
    if not may_ask(material):
        return None, ""
    try:
        seconds = settings.LAYOUT_SECONDS / 2
        return base_of(material, today=timezone.localdate(), seconds=seconds), ""
    except Impossible as reason:
        return None, _no_season(reason, material)


def _no_season(reason: Impossible, material: Material) -> str:
    why = why_impossible(reason, material.events)
    said = _("This season cannot be laid out, so nothing in it has a price. %(why)s")
    return said % {"why": why}


# Stand-ins ----------------------------------------------------------------------------------------


@require_safe
def event_stand_ins(request: HttpRequest, plan_id: int, event_id: int) -> HttpResponse:
    """The best events to play in the week of one that the player may not get into."""
    material = _material(request, plan_id)
    today = timezone.localdate()
    event = _event(unsure_of_entry(material, today=today), event_id)
    context = _context(request, material) | {"ask": stand_in_ask(material, event)}
    base, trouble = _base(material)
    if base:
        try:
            found = stand_ins_for(base, event, seconds=settings.LAYOUT_SECONDS / 2)
            lines = stand_in_lines(material, base, found, today=today)
            context |= {"stand_ins": lines, "said": stand_in_summary(lines)}
        except Impossible as reason:
            why = why_impossible(reason, material.events)
            said = _("%(event)s cannot be in this season anyway. %(why)s")
            trouble = said % {"event": event.name, "why": why}
    return page_or_pieces(
        request,
        page="plans/stand_ins.html",
        pieces=["plans/_stand_ins.html"],
        context=context | {"trouble": trouble} | _found(material, base),
    )
