"""What the server says of itself to a scraper."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.crypto import constant_time_compare
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from seasonplan.upkeep.metrics import (
    CONTENT_TYPE,
    exposition,
    of_the_database,
    of_the_process,
)
from seasonplan.web.counting import COUNTS


@login_not_required
@never_cache
@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """The figures, for whoever brings the token of SEASONPLAN_METRICS_TOKEN; else 401, and 404
    where none is set."""
    if not settings.METRICS_TOKEN:
        raise Http404
    wanted = f"Bearer {settings.METRICS_TOKEN}"
    if not constant_time_compare(request.headers.get("Authorization", ""), wanted):
        answer = HttpResponse("A token is needed.", content_type="text/plain", status=401)
        answer["WWW-Authenticate"] = "Bearer"
        return answer
    said = exposition([*of_the_database(timezone.now()), *of_the_process(COUNTS)])
    return HttpResponse(said, content_type=CONTENT_TYPE)
