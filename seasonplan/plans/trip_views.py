"""The whole trip to an event of a plan, and what it costs; the panel beside it is in `views.py`."""

from __future__ import annotations

from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from seasonplan.academy.access import get_planned
from seasonplan.academy.models import Person
from seasonplan.events.models import Event
from seasonplan.plans.forms import BedtimeForm, TripCostForm
from seasonplan.plans.laying_out import Material
from seasonplan.plans.models import SeasonPlan, TripCost
from seasonplan.plans.trip_page import USUAL_BEDTIME, trip_page


def trip_context(request: HttpRequest, material: Material, event: Event) -> dict[str, Any]:
    """What the page of the whole trip shows beside the panel."""
    plan, person = material.plan, cast(Person, request.user)
    asked = BedtimeForm(request.GET if "bed" in request.GET else None)
    bedtime = asked.cleaned_data["bed"] if asked.is_valid() else USUAL_BEDTIME
    costs = material.trip_costs.get(event.pk)
    return {
        "trip": trip_page(material, event, costs=costs, bedtime=bedtime),
        "bedtime_form": asked if asked.is_bound else BedtimeForm(initial={"bed": USUAL_BEDTIME}),
        "may_cost": SeasonPlan.objects.planned_by(person).filter(pk=plan.pk).exists(),
        "may_correct": Event.objects.editable_by(person).filter(pk=event.pk).exists(),
    }


@require_http_methods(["GET", "HEAD", "POST"])
def trip_cost(request: HttpRequest, plan_id: int, event_id: int) -> HttpResponse:
    """What the way to an event and a night there cost this player; in every plan the same."""
    person = cast(Person, request.user)
    plan = get_planned(SeasonPlan.objects.select_related("player"), person, pk=plan_id)
    events = Event.objects.visible_to(person).filter(academy_id=plan.player.academy_id)
    event = get_object_or_404(events.select_related("place"), pk=event_id)
    kept = TripCost.objects.filter(player_id=plan.player_id, event=event).first()
    form = TripCostForm(
        request.POST if request.method == "POST" else None,
        instance=kept or TripCost(player_id=plan.player_id, event=event),
    )
    if request.method != "POST" or not form.is_valid():
        status = 422 if form.is_bound else 200
        context = {"plan": plan, "event": event, "form": form}
        return render(request, "plans/trip_cost.html", context, status=status)
    form.save()
    said = _("Costs of the trip to %(place)s saved.") % {"place": event.place.place_name}
    messages.success(request, said)
    return redirect("planned-event", plan.pk, event.pk)
