"""The academy's settings: the age of consent, whom players turn to, what they have to share."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from seasonplan.academy.access import one_academy
from seasonplan.academy.contact import contact_of
from seasonplan.academy.models import Academy, Person
from seasonplan.academy.requiring import requirements_of
from seasonplan.academy.settings_form import SettingsForm


@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    """Directors change the settings; coaches read them."""
    person = cast(Person, request.user)
    academy = one_academy(Academy.objects.planned_by(person), request.GET.get("academy"))
    directs = Academy.objects.editable_by(person).filter(pk=academy.pk).exists()
    posted = request.method == "POST"
    if posted and not directs:
        raise PermissionDenied
    form = SettingsForm(request.POST if posted else None, instance=academy) if directs else None
    if form is not None and posted and form.is_valid():
        form.keep(by=person, now=timezone.now())
        messages.success(request, _("The settings are saved."))
        return redirect(f"{reverse('academy-settings')}?academy={academy.pk}")
    if posted:
        academy.refresh_from_db()
    context = {
        "academy": academy,
        "form": form,
        "contact": contact_of(academy),
        "required": requirements_of(academy).now,
        "changes": academy.required_sharing.select_related("set_by").order_by("-set_at", "-pk"),
    }
    return render(request, "academy/settings.html", context, status=422 if posted else 200)
