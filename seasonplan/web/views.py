"""Addresses that belong to no domain: health, readiness, and the pages for what went wrong."""

from functools import cache

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
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
@never_cache
@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """Answer 200 `ready` when this process can take requests; else 503 with what is missing."""
    try:
        applied = set(MigrationRecorder(connection).applied_migrations())
    except DatabaseError:
        return _not_ready("the database cannot be reached")
    if missing := sorted(_migrations() - applied):
        app, name = missing[0]
        more = f" and {len(missing) - 1} more" if len(missing) > 1 else ""
        return _not_ready(f"the migration {app}.{name}{more} is not applied")
    return HttpResponse("ready", content_type="text/plain")


def _not_ready(reason: str) -> HttpResponse:
    return HttpResponse(f"not ready: {reason}", content_type="text/plain", status=503)


@cache
def _migrations() -> frozenset[tuple[str, str]]:
    """The migrations that this version of the program comes with."""
    return frozenset(MigrationLoader(None).disk_migrations)


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
