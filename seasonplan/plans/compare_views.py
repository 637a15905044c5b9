"""Two plans of a season side by side, and what became different when one was put in force."""

from __future__ import annotations

from typing import Any, cast

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_safe

from seasonplan.academy.access import get_visible
from seasonplan.academy.models import Person
from seasonplan.plans import noticing
from seasonplan.plans.comparing import Since, beside, comparison, gather_pair, likeliest_other
from seasonplan.plans.differences import differences, shape_of
from seasonplan.plans.forms import ComparePlansForm
from seasonplan.plans.models import SeasonPlan

PLANS = SeasonPlan.objects.select_related("player__academy")


def _person(request: HttpRequest) -> Person:
    return cast(Person, request.user)


def _season_of(request: HttpRequest, plan_id: int) -> tuple[SeasonPlan, list[SeasonPlan]]:
    """A plan and all plans of its season, for coaches and directors: 404 or 403 for others."""
    person = _person(request)
    plan = get_visible(PLANS, person, pk=plan_id)
    season = PLANS.with_history_for(person).filter(player_id=plan.player_id, start=plan.start)
    plans = list(season)
    if plan not in plans:
        raise PermissionDenied
    return plan, plans


@require_safe
def choose(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Go to the two plans that were chosen, or to this one beside the likeliest other."""
    plan, plans = _season_of(request, plan_id)
    form = ComparePlansForm(request.GET or None, plans=plans)
    if form.is_valid():
        return redirect("plan-compare", form.cleaned_data["left"], form.cleaned_data["right"])
    other = likeliest_other(plan, plans)
    if other and not form.is_bound:
        return redirect("plan-compare", plan.pk, other.pk)
    context = {
        "plan": plan,
        "form": form,
        "alone": other is None,
        "may_plan": SeasonPlan.objects.planned_by(_person(request)).filter(pk=plan.pk).exists(),
    }
    return render(request, "plans/compare.html", context, status=422 if form.is_bound else 200)


@require_safe
def compare(request: HttpRequest, plan_id: int, other_id: int) -> HttpResponse:
    """Two plans week by week, the weeks that differ or all of them."""
    plan, plans = _season_of(request, plan_id)
    other = next((found for found in plans if found.pk == other_id and found != plan), None)
    if other is None:
        raise Http404
    left, right = gather_pair(plan, other)
    context = {
        "plan": plan,
        "form": ComparePlansForm(plans=plans, initial={"left": plan.pk, "right": other.pk}),
        "compared": comparison(left, right, today=timezone.localdate(), voice=beside(plan, other)),
        "all_weeks": "all" in request.GET,
    }
    return render(request, "plans/compare.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def changes(request: HttpRequest, plan_id: int) -> HttpResponse:
    """What a plan in force changed for those who see it; whoever was here, or posts, has seen it.

    The plan before it is shown to readers here alone.
    """
    person = _person(request)
    plans = PLANS.select_related("replaces__player__academy")
    plan = get_visible(plans.exclude(standing="working copy"), person, pk=plan_id)
    if plan.replaces:
        noticing.has_seen(plan, person)
    if request.method == "POST":
        return redirect(_back(request) or reverse("season", args=[plan.pk]))
    context: dict[str, Any] = {"plan": plan, "all_weeks": "all" in request.GET}
    if plan.replaces:
        before, now = gather_pair(plan.replaces, plan)
        context["differences"] = differences(
            shape_of(before), shape_of(now), events=now.events, start=plan.start, end=plan.end
        )
        context["compared"] = comparison(
            before, now, today=timezone.localdate(), voice=Since(), plain=True
        )
    return render(request, "plans/changes.html", context)


def _back(request: HttpRequest) -> str:
    """The page of this server on which the notice stood."""
    page = request.POST.get("back", "")
    here = url_has_allowed_host_and_scheme(
        page, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return page if here else ""
