"""Putting away what changed in the calendar under a plan."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from seasonplan.academy.access import get_planned
from seasonplan.academy.models import Person
from seasonplan.plans.calendar_news import mark_seen
from seasonplan.plans.forms import SeenForm
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.showing import season_answer


@require_POST
def seen(request: HttpRequest, plan_id: int) -> HttpResponse:
    """Whoever plans has seen what the season screen told of the calendar, up to its last change."""
    plans = SeasonPlan.objects.select_related("player__academy")
    plan = get_planned(plans, cast(Person, request.user), pk=plan_id)
    form = SeenForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("It is not clear what was seen. Look at it here once more."))
        return season_answer(request, plan, status=422)
    mark_seen(plan, form.cleaned_data["upto"], now=timezone.now())
    return redirect("season", plan.pk)
