"""The page that says who sees what of a player's logs, and on which it is chosen."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from seasonplan.academy.access import get_visible
from seasonplan.academy.consent import consent_standing, guardians_of
from seasonplan.academy.contact import directors_of
from seasonplan.academy.models import Person, Player
from seasonplan.checkins.choosing import SharingForm, choose, sharing_page


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def sharing(request: HttpRequest, player_id: int) -> HttpResponse:
    """Who sees what, for the player and the guardians; POST by whose choice it is."""
    person = cast(Person, request.user)
    player = get_visible(Player.objects.select_related("academy"), person, pk=player_id)
    guards = Player.objects.guarded_by(person).filter(pk=player.pk).exists()
    if player.person_id != person.pk and not guards:
        raise PermissionDenied
    standing = consent_standing(player, today=timezone.localdate())
    page = sharing_page(player, person, standing)
    posted = request.method == "POST"
    if posted and not page.decides:
        raise PermissionDenied
    form = SharingForm(request.POST if posted else None, page=page) if page.decides else None
    if form is not None and posted and form.is_valid():
        choose(player, form.choice, by=person, by_guardian=standing.needed, now=timezone.now())
        messages.success(request, _("Your choice is saved. It holds for earlier logs too."))
        return redirect("sharing", player.pk)
    context = {
        "page": page,
        "form": form,
        "guardians": guardians_of(player),
        "directors": directors_of(player.academy),
    }
    return render(request, "checkins/sharing.html", context, status=422 if posted else 200)
