"""Editing a working copy by hand: the season screen's buttons, a block, the history, the name."""

from __future__ import annotations

from datetime import date
from typing import cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.access import get_editable, get_planned, get_visible
from seasonplan.academy.models import Person
from seasonplan.plans import editing, history, standing
from seasonplan.plans.blocks import block_page
from seasonplan.plans.forms import CopyForm, EditForm
from seasonplan.plans.history import Conflict, Stale
from seasonplan.plans.laying_out import gather
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.operations import NotPossible, NotUnderstood
from seasonplan.plans.showing import (
    conflict_answer,
    day_of,
    edit_answer,
    season_out_of_band,
)
from seasonplan.plans.telling import history_page
from seasonplan.web.htmx import page_or_pieces, wants_piece

PLANS = SeasonPlan.objects.select_related("player__academy")
CHANGED_MEANWHILE = gettext_lazy(
    "Somebody changed this plan meanwhile. Here it is as it stands now."
)


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


@require_POST
def edit(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Do one thing by hand; htmx gets what is different now, a browser the season."""
    form = EditForm(request.POST)
    try:
        if not form.is_valid():
            raise NotUnderstood
        asked = form.cleaned_data
        done = editing.edit_by_hand(
            _person(request), plan_id, asked["do"], revision=asked["revision"]
        )
    except (NotUnderstood, NotPossible, Stale) as reason:
        plan = get_editable(PLANS, _person(request), pk=plan_id)
        return _not_done(request, plan, reason)
    if not wants_piece(request):
        messages.success(request, f"{done.said}.")
        return redirect("season", plan_id)
    return edit_answer(request, done, opened=asked["open"])


def _not_done(request: HttpRequest, plan: SeasonPlan, reason: Exception) -> HttpResponse:
    if isinstance(reason, Conflict):
        return conflict_answer(request, plan, reason)
    if isinstance(reason, Stale):
        messages.error(request, CHANGED_MEANWHILE)
        return season_out_of_band(request, plan, status=409)
    messages.error(request, str(reason) or _("This cannot be done to the plan as it stands now."))
    return season_out_of_band(request, plan, status=422)


@require_safe
def block(request: HttpRequest, plan_id: int, monday: str) -> HttpResponse:
    """One block of a working copy: move its ends, change its phase, add another, remove it."""
    plan = get_editable(PLANS, _person(request), pk=plan_id)
    day: date | None = day_of(monday)
    page = block_page(gather(plan), day) if day else None
    if page is None:
        raise Http404
    return page_or_pieces(
        request,
        page="plans/block.html",
        pieces=["plans/_block.html"],
        context={"plan": plan, "shown": page},
    )


@require_safe
def plan_history(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Every step of a plan: what, who, when, and what it was before and after."""
    person = _person(request)
    plan = get_visible(PLANS, person, pk=plan_id)
    if not SeasonPlan.objects.filter(pk=plan.pk).with_history_for(person).exists():
        raise PermissionDenied
    before = request.GET.get("before", "")
    page = history_page(
        plan,
        history.reach(plan),
        before=int(before) if before.isascii() and before.isdigit() and len(before) < 10 else None,
    )
    may_change = SeasonPlan.objects.editable_by(person).filter(pk=plan.pk).exists()
    context = {"plan": plan, "history": page, "reach": page.reach, "may_change": may_change}
    return render(request, "plans/history.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def name(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Give a working copy another name."""
    plan = get_editable(PLANS, _person(request), pk=plan_id)
    form = CopyForm(request.POST or None, initial={"name": plan.name})
    revision = request.POST.get("revision", "")
    context = {"plan": plan, "form": form, "revision": plan.revision}
    if request.method != "POST" or not form.is_valid():
        status = 422 if request.method == "POST" else 200
        return render(request, "plans/name.html", context, status=status)
    try:
        editing.rename_plan(
            plan,
            form.cleaned_data["name"],
            revision=int(revision) if revision.isdecimal() and len(revision) < 10 else -1,
            by=_person(request),
        )
    except Conflict as conflict:
        return conflict_answer(request, plan, conflict)
    except Stale:
        return render(request, "plans/name.html", context | {"stale": True}, status=409)
    messages.success(
        request, _("This working copy is called “%(name)s” now.") % {"name": plan.name}
    )
    return redirect("season", plan.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def copy(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Name and make a working copy of any plan of a player one coaches."""
    plan = get_planned(PLANS, _person(request), pk=plan_id)
    suggested = (_("%(name)s (copy)") % {"name": plan.name[:72]})[:80]
    if request.method != "POST":
        form = CopyForm(initial={"name": suggested})
        return render(request, "plans/copy.html", {"plan": plan, "form": form})
    form = CopyForm(request.POST)
    if "name" in request.POST and not form.is_valid():
        return render(request, "plans/copy.html", {"plan": plan, "form": form}, status=422)
    chosen = form.cleaned_data["name"] if form.is_valid() else suggested
    made = standing.copy_plan(plan, name=chosen)
    messages.success(
        request,
        _("This is a working copy, “%(name)s”. Only coaches see it.") % {"name": made.name},
    )
    return redirect("season", made.pk)
