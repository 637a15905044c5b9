"""The figures as files, and the win chances that results are held against."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from seasonplan.academy.models import Person
from seasonplan.debrief.access import plans_looked_back_on, seat_of
from seasonplan.debrief.export import codebook_csv, figures_csv
from seasonplan.debrief.figures import show_figures
from seasonplan.debrief.year import levels_of
from seasonplan.plans.chances import ChancesForm, chances_of, keep_chances
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.planner import season_name

CSV = "text/csv; charset=utf-8"
BYTE_ORDER_MARK = "\ufeff"
"""Without it some spreadsheets read the file in another alphabet."""


def _plan(request: HttpRequest, plan_id: int) -> SeasonPlan:
    plans = plans_looked_back_on(cast(Person, request.user))
    return get_object_or_404(
        plans.select_related("player__academy", "player__home_base"), pk=plan_id
    )


@require_safe
@never_cache
def figures_file(request: HttpRequest, plan_id: int) -> HttpResponse:
    """All figures that the reader may see, one number a line."""
    plan, person = _plan(request, plan_id), cast(Person, request.user)
    with translation.override(None):
        figures = show_figures(
            plan,
            person,
            seat_of(person, plan.player),
            today=timezone.localdate(),
            now=timezone.now(),
            query=request.GET,
        )
        text = figures_csv(figures)
    name = f"figures-{season_name(plan.start, plan.end).replace('/', '-')}.csv"
    return _file(text, name)


@require_safe
def codebook_file(request: HttpRequest) -> HttpResponse:
    """What the names in the file of figures mean."""
    return _file(codebook_csv(), "figures-codebook.csv")


def _file(text: str, name: str) -> HttpResponse:
    answer = HttpResponse(BYTE_ORDER_MARK + text, content_type=CSV)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def win_chances(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Say how often the player was expected to win, for the coaches of the player."""
    plan = _plan(request, plan_id)
    if not seat_of(cast(Person, request.user), plan.player).coaches:
        raise PermissionDenied
    so_far = chances_of(plan)
    levels = sorted({*levels_of(plan), *so_far})
    form = ChancesForm(levels, so_far, data=request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        keep_chances(plan, form.chosen)
        messages.success(request, _("The win chances are saved; results are held against them."))
        return redirect(reverse("debrief", args=[plan.pk]) + "?scale=above#energy")
    context = {"plan": plan, "season": season_name(plan.start, plan.end), "form": form}
    status = 422 if form.is_bound else 200
    return render(request, "debrief/win_chances.html", context, status=status)
