"""What the matches may do to a season, and the win chances that this rests on."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from seasonplan.academy.access import get_planned
from seasonplan.academy.models import Person
from seasonplan.plans.chances import EVEN_PERCENT, ChancesForm, chances_of, keep_chances
from seasonplan.plans.laying_out import gather
from seasonplan.plans.matches import levels_played, matches_page
from seasonplan.plans.models import SeasonPlan

PLANS = SeasonPlan.objects.select_related("player__academy")


@require_http_methods(["GET", "HEAD", "POST"])
def plan_matches(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Bands and warnings for a plan as it stands; a POST sets the win chance of each level."""
    plan = get_planned(PLANS, cast(Person, request.user), pk=plan_id)
    material, so_far = gather(plan), chances_of(plan)
    form = ChancesForm(
        sorted(levels_played(material)),
        so_far,
        data=request.POST if request.method == "POST" else None,
    )
    if form.is_bound and form.is_valid():
        keep_chances(plan, form.chosen)
        said = _("The win chances are saved, and the bands rest on them now.")
        messages.success(request, said)
        return redirect("plan-matches", plan.pk)
    context = {
        "plan": plan,
        "page": matches_page(material, so_far, today=timezone.localdate()),
        "played": material.played,
        "form": form,
        "even": EVEN_PERCENT,
    }
    return render(request, "plans/matches.html", context, status=422 if form.is_bound else 200)
