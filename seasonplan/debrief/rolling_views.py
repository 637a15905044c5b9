"""The page that begins the next season for many players at once."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from seasonplan.academy.access import one_academy
from seasonplan.academy.models import Academy, Person
from seasonplan.debrief.rolling_over import roll_over, rolling


@require_http_methods(["GET", "HEAD", "POST"])
def next_seasons(request: HttpRequest) -> HttpResponse:
    """Who has no next season yet; a POST begins it for those that are ticked."""
    person = cast(Person, request.user)
    academy = one_academy(Academy.objects.planned_by(person), request.GET.get("academy"))
    rows = rolling(academy, person)
    wrong = ""
    if request.method == "POST":
        ticked = set(request.POST.getlist("player"))
        chosen = [row for row in rows if row.can_begin and str(row.player.pk) in ticked]
        if chosen:
            begun = roll_over(chosen, by=person)
            said = ngettext(
                "The next season of %(count)d player is begun, as a working copy.",
                "The next seasons of %(count)d players are begun, as working copies.",
                len(begun),
            )
            messages.success(request, said % {"count": len(begun)})
            return redirect(f"{reverse('next-seasons')}?academy={academy.pk}")
        wrong = _("Tick at least one player whose next season is not begun yet.")
    context = {
        "academy": academy,
        "rows": rows,
        "can_begin": any(row.can_begin for row in rows),
        "wrong": wrong,
    }
    return render(request, "debrief/next_seasons.html", context, status=422 if wrong else 200)
