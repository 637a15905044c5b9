"""One's own reminders: of what, when, and what comes next."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from seasonplan.academy.models import Person, Player
from seasonplan.checkins.reminder_forms import RemindersForm
from seasonplan.checkins.reminders import coming
from seasonplan.checkins.wishes import audience, keep_wishes


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def my_reminders(request: HttpRequest) -> HttpResponse:
    """What one is reminded of and when; POST changes it."""
    person = cast(Person, request.user)
    mine = audience(Player.objects.all(), person=person)
    form = RemindersForm(
        request.POST if request.method == "POST" else None,
        person=person,
        usual_zone=mine.usual_zones[person.pk],
        times=mine.times[person.pk],
        wishes=mine.wishes,
    )
    if form.is_bound and form.is_valid():
        person.timezone = form.cleaned_data["timezone"]
        keep_wishes(person=person, times=form.times(), about=form.about())
        messages.success(request, _("Your reminders are changed."))
        return redirect("reminders")
    context = {"form": form, "coming": coming(mine, timezone.now())}
    status = 422 if form.is_bound else 200
    return render(request, "checkins/reminders.html", context, status=status)
