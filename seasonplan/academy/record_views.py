"""The change record of an academy, for its directors."""

from __future__ import annotations

from typing import cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from seasonplan.academy.access import one_academy
from seasonplan.academy.models import Academy, Person
from seasonplan.academy.record import record_page


@require_safe
def change_record(request: HttpRequest) -> HttpResponse:
    """`what` and `q` narrow it; `page` goes back in time."""
    person = cast(Person, request.user)
    academy = one_academy(Academy.objects.editable_by(person), request.GET.get("academy"))
    context = {"page": record_page(academy, person, request.GET)}
    return render(request, "academy/record.html", context)
