"""Addresses that belong to no domain: health, and the pages for what went wrong."""

from django.contrib.auth.decorators import login_not_required
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@login_not_required
@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """Answer 200 `ok` when the server and its database work."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("ok", content_type="text/plain")


@login_not_required
def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


@login_not_required
def not_allowed(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "403.html", status=403)


@login_not_required
def broken(request: HttpRequest) -> HttpResponse:
    """Rendered without the request: whatever broke may have been in a context processor."""
    return HttpResponse(render_to_string("500.html"), status=500)
