"""The season screen as an answer: the whole page, its pieces, or only what an edit changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any, cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _

from seasonplan.academy.models import Person
from seasonplan.events.models import Event
from seasonplan.plans import history
from seasonplan.plans.blocks import block_page
from seasonplan.plans.calendar_news import calendar_news, is_marked, news_of_event
from seasonplan.plans.carried import carried_lines, ends_soon
from seasonplan.plans.editing import Done
from seasonplan.plans.forms import EventForm, choice_initial
from seasonplan.plans.history import Conflict, Reach
from seasonplan.plans.laying_out import Material, gather
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.noticing import change_notices
from seasonplan.plans.pieces import Piece, changed_pieces
from seasonplan.plans.planner import SeasonPage, plan_links, season_page
from seasonplan.plans.price_page import questions_of
from seasonplan.plans.telling import clash_lines
from seasonplan.plans.trips import event_page
from seasonplan.web.htmx import page_or_pieces, wants_piece

SEASON_PIECES = [
    "plans/_planner.html",
    "plans/_head.html",
    "plans/_side.html",
    "plans/_steps.html",
    "plans/_revision.html",
    "web/_messages.html",
]


def season_context(
    request: HttpRequest, plan: SeasonPlan, *, material: Material | None = None, said: str = ""
) -> dict[str, Any]:
    """All that the season page and each of its pieces print."""
    person = cast(Person, request.user)
    may_plan = SeasonPlan.objects.planned_by(person).filter(pk=plan.pk).exists()
    may_change = may_plan and plan.standing == SeasonPlan.Standing.WORKING_COPY
    today = timezone.localdate()
    material = material or gather(plan)
    page = season_page(
        material,
        today=today,
        may_change=may_change,
        may_plan=may_plan,
        others=_others(person, plan),
        said=said,
    )
    return {
        "page": page,
        "plan": plan,
        "paper": request.GET.get("paper", ""),
        "carried": carried_lines(material),
        "change_notices": change_notices(
            SeasonPlan.objects.filter(pk=plan.pk), person, today=today
        ),
        "calendar_news": calendar_news(plan, today=today, may_plan=may_plan),
        "ends_soon": ends_soon(plan, today),
        "reach": history.reach(plan) if may_change else Reach(None, None),
    }


def _others(person: Person, plan: SeasonPlan) -> list[SeasonPlan]:
    plans = SeasonPlan.objects.visible_to(person)
    return list(plans.filter(player_id=plan.player_id, start=plan.start))


def season_answer(
    request: HttpRequest, plan: SeasonPlan, *, status: int = 200, said: str = ""
) -> HttpResponse:
    """The season as it stands: the page, or for htmx its pieces."""
    return page_or_pieces(
        request,
        page="plans/season.html",
        pieces=[*SEASON_PIECES, "plans/_no_panel.html"],
        context=season_context(request, plan, said=said),
        status=status,
    )


def season_out_of_band(request: HttpRequest, plan: SeasonPlan, *, status: int) -> HttpResponse:
    """The same for a request that swaps nothing itself: every piece finds its own place."""
    if not wants_piece(request):
        return season_answer(request, plan, status=status)
    context = season_context(request, plan)
    pieces = [Piece(template) for template in SEASON_PIECES]
    return HttpResponse(_rendered(request, pieces, context), status=status)


def edit_answer(
    request: HttpRequest, done: Done, *, opened: str = "", first: Sequence[Piece] = ()
) -> HttpResponse:
    """What an edit made different; `opened` names the panel that lies open, `first` goes where the
    request's target says."""
    before = _page(done.before) if done.before else None
    after = _page(done.after)
    pieces = changed_pieces(before, after)
    plan = after.plan
    if any(piece.template == "plans/_side.html" for piece in pieces):
        others = _others(cast(Person, request.user), plan)
        after = replace(after, plans=plan_links(plan, others))
    pieces += [
        *_opened(done, opened),
        Piece("plans/_revision.html"),
        Piece("plans/_steps.html"),
        Piece("web/_messages.html"),
    ]
    findings = after.findings_line or (_("No rule is broken") if after.is_laid_out else "")
    context: dict[str, Any] = {
        "page": after,
        "plan": plan,
        "reach": done.reach,
        "ends_soon": ends_soon(plan, timezone.localdate()),
        "said": " ".join(f"{part}." for part in (done.said, findings) if part),
    }
    if _marked(done.before) != _marked(done.after):
        pieces.append(Piece("plans/_calendar_news.html"))
        context["calendar_news"] = calendar_news(plan, today=timezone.localdate(), may_plan=True)
    there = "".join(
        render_to_string(piece.template, {**context, **piece.context}, request) for piece in first
    )
    return HttpResponse(there + _rendered(request, pieces, context))


def _marked(material: Material | None) -> set[int]:
    """The events of the plan that changed in the calendar since somebody looked."""
    if material is None:
        return set()
    return {event.pk for event in material.played if is_marked(material.plan, event)}


def _rendered(request: HttpRequest, pieces: Sequence[Piece], context: dict[str, Any]) -> str:
    return "".join(
        render_to_string(piece.template, {**context, "swap_oob": True, **piece.context}, request)
        for piece in pieces
    )


def _page(material: Material) -> SeasonPage:
    return season_page(material, today=timezone.localdate(), may_change=True, may_plan=True)


def event_panel(
    material: Material,
    event: Event,
    *,
    may_change: bool,
    may_plan: bool,
    form: EventForm | None = None,
) -> dict[str, Any]:
    """What the panel of one event prints; who plans may ask for prices in a plan in force, too."""
    row, today = material.planned.get(event.pk), timezone.localdate()
    return {
        "event_page": event_page(material, event, today=today, may_change=may_change),
        "news": news_of_event(material.plan, event, today=today, may_plan=may_change),
        "cancelled": event.cancelled,
        "event_id": event.pk,
        "row": row,
        "form": form or EventForm(initial=choice_initial(row)),
        "questions": questions_of(material, event, today=today) if may_plan else None,
    }


def _opened(done: Done, opened: str) -> list[Piece]:
    """The panel that lies open, as it is after the edit."""
    kind, _space, key = opened.partition(" ")
    if kind == "block":
        return [_block_piece(done, key)]
    event = next((e for e in done.after.events if kind == "event" and key == str(e.pk)), None)
    if event is None:
        return []
    panel = event_panel(done.after, event, may_change=True, may_plan=True)
    return [Piece("plans/_panel.html", panel)]


def _block_piece(done: Done, monday: str) -> Piece:
    """The same block after the edit, wherever it begins now; closed if it is gone."""
    before = sorted(block.start for block in done.before.blocks) if done.before else []
    now = sorted(block.start for block in done.after.blocks)
    start = day_of(monday)
    if len(before) == len(now) and start in before:
        start = now[before.index(start)]
    page = block_page(done.after, start) if start else None
    return Piece("plans/_block.html", {"shown": page}) if page else Piece("plans/_no_panel.html")


def day_of(text: str) -> date | None:
    """The date that an address or a form says, or None."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def conflict_answer(request: HttpRequest, plan: SeasonPlan, conflict: Conflict) -> HttpResponse:
    """409: both versions, with a button that sends the same again, against the plan as it is now.

    All that was posted is in that form, so nothing that was typed is lost.
    """
    context = {
        "plan": plan,
        "clashes": clash_lines(conflict.clashes),
        "action": request.path,
        "posted": [
            (name, value)
            for name, values in request.POST.lists()
            for value in values
            if name not in ("csrfmiddlewaretoken", "revision", "open")
        ],
    }
    if not wants_piece(request):
        return render(request, "plans/conflict.html", context, status=409)
    pieces = [*(Piece(name) for name in SEASON_PIECES), Piece("plans/_conflict.html")]
    html = _rendered(request, pieces, {**season_context(request, plan), **context})
    return HttpResponse(html, status=409)
