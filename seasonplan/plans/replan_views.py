"""Re-planning from a day on: asked, shown as differences, and written when it is accepted."""

from __future__ import annotations

from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from seasonplan.academy.access import get_planned
from seasonplan.academy.models import Person
from seasonplan.plans.calendar_news import calendar_news
from seasonplan.plans.forms import ReplanForm
from seasonplan.plans.history import Stale
from seasonplan.plans.laying_out import Material, NoHomeBase, gather
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.offered import NotAsShown, NotOurs
from seasonplan.plans.replan_page import replan_page, stuck
from seasonplan.plans.replanning import (
    MOST_WEIGHT,
    Accepted,
    accept,
    first_day,
    propose,
    read_signed,
)
from seasonplan.science.layout.solver import Impossible
from seasonplan.web.htmx import page_or_pieces

PLANS = SeasonPlan.objects.select_related("player__academy").exclude(standing="replaced")


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def re_plan(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Ask; a POST shows what would change, or with `accept` writes what was shown."""
    plan = get_planned(PLANS, cast(Person, request.user), pk=plan_id)
    material = gather(plan)
    if request.method != "POST" or not _may_ask(material):
        status = 200 if request.method != "POST" else 422
        return _answer(request, material, _form(material, None), status=status)
    form = _form(material, request.POST)
    if "accept" in request.POST:
        return _accept(request, material, form)
    return _preview(request, material, form)


def _may_ask(material: Material) -> bool:
    over = timezone.localdate() > material.plan.end
    return bool(material.home and material.blocks and not over)


def _form(material: Material, data: Any) -> ReplanForm:
    plan = material.plan
    return ReplanForm(
        data,
        first=first_day(plan, timezone.localdate()),
        last=plan.end,
        events=material.events,
        played=material.played,
        weight=min(MOST_WEIGHT, round(plan.parsed_limits.change_weight)),
    )


def _preview(
    request: HttpRequest, material: Material, form: ReplanForm, *, status: int = 200
) -> HttpResponse:
    if not form.is_valid():
        return _answer(request, material, form, status=422)
    today = timezone.localdate()
    try:
        proposal = propose(material, form.asked, today=today)
    except Impossible as reason:
        return _answer(
            request, material, form, status=422, stuck=stuck(material, form.asked, reason)
        )
    page = replan_page(material, proposal, today=today)
    return _answer(request, material, form, status=status, page=page)


def _accept(request: HttpRequest, material: Material, form: ReplanForm) -> HttpResponse:
    """Write it, and go to where it is; else the form as typed, and why nothing was written."""
    plan = material.plan
    try:
        proposal = read_signed(plan, request.POST["accept"])
        if not form.is_valid():
            return _answer(request, material, form, status=422)
        if form.asked != proposal.asked:
            messages.error(request, _("You changed the form since. This is what it says now."))
            return _preview(request, material, form, status=409)
        today, now = timezone.localdate(), timezone.now()
        done = accept(plan, proposal, today=today, now=now, by=cast(Person, request.user))
    except NotOurs:
        said = _("This is nothing that this page offered, or a day old. Ask again.")
        messages.error(request, said)
        return _answer(request, material, form, status=422)
    except (Stale, NotAsShown, NoHomeBase):
        messages.error(
            request,
            _(
                "The plan, the calendar or the player’s days changed since this was worked out. "
                "Nothing is written; what you typed is still here. Ask again."
            ),
        )
        return _answer(request, gather(plan), form, status=409)
    messages.success(request, _said(done))
    return redirect("season", done.plan.pk)


def _said(done: Accepted) -> str:
    busy = _("The days out are busy days of the player now.") if done.busy else ""
    if not done.changed:
        said = [_("Nothing in the plan changes."), busy]
    elif done.made_copy:
        said = [
            _("This is a working copy, “%(name)s”.") % {"name": done.plan.name},
            busy,
            _(
                "Look through it, then press “Put in force”: until then the player sees the plan "
                "as it was."
            ),
        ]
    else:
        said = [_("Re-planned, as one step: Undo takes it back."), busy]
    return " ".join(filter(None, said))


def _answer(
    request: HttpRequest, material: Material, form: ReplanForm, *, status: int = 200, **more: Any
) -> HttpResponse:
    """The page; for htmx the form with what came of it."""
    plan, today = material.plan, timezone.localdate()
    return page_or_pieces(
        request,
        page="plans/re_plan.html",
        pieces=["plans/_re_plan.html", "web/_messages.html"],
        context={
            "plan": plan,
            "material": material,
            "form": form,
            "over": today > plan.end,
            "news": calendar_news(plan, today=today, may_plan=True),
            **more,
        },
        status=status,
    )
