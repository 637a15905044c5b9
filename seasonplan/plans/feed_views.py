"""The calendar feed for calendar programs, and the page where a person makes its address."""

from __future__ import annotations

from hashlib import sha256
from typing import cast

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.signing import BadSignature
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from seasonplan.academy.models import Person, hashed
from seasonplan.academy.speaking import language_of
from seasonplan.plans import feeds
from seasonplan.plans.models import FeedAddress
from seasonplan.web.ical import CONTENT_TYPE

# As with an invitation, the secret crosses the redirect in a signed cookie and not in the session,
# which lies in the database.
ADDRESS_COOKIE = "feed-address"


@login_not_required
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponseBase:
    """The calendar of the person whose address this is; 304 where it has not changed."""
    address = feeds.find_address(token)
    if address is None:
        raise Http404
    site = request.build_absolute_uri("/").rstrip("/")
    text = feeds.feed(address, now=timezone.now(), site=site).encode()
    etag = f'"{sha256(text).hexdigest()}"'
    whole = HttpResponse(text, content_type=CONTENT_TYPE)
    answer = get_conditional_response(request, etag=etag, response=whole) or whole
    answer["ETag"] = etag
    answer["Content-Language"] = language_of(address.person)
    answer["Cache-Control"] = "private, no-cache"
    answer["Content-Disposition"] = 'inline; filename="seasonplan.ics"'
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def my_calendar(request: HttpRequest) -> HttpResponse:
    """What the calendar feed is, and its new address once; POST makes a new one."""
    person = cast(Person, request.user)
    if request.method == "POST":
        return _shown_once(feeds.make_address(person, now=timezone.now()))
    address = FeedAddress.objects.filter(person=person, token_hash__isnull=False).first()
    try:
        token = request.get_signed_cookie(ADDRESS_COOKIE, default="")
    except BadSignature:
        token = ""
    link = ""
    if address and token and hashed(token) == address.token_hash:
        link = request.build_absolute_uri(reverse("feed", args=[token]))
    plans = feeds.plans_of_feed(person, today=timezone.localdate())
    context = {
        "address": address,
        "link": link,
        "open": "webcal:" + link.partition(":")[2],
        "players": list(dict.fromkeys(plan.player.name for plan in plans)),
    }
    response = render(request, "plans/my_calendar.html", context)
    response.delete_cookie(ADDRESS_COOKIE, path=reverse("my-calendar"))
    return response


def _shown_once(token: str) -> HttpResponse:
    response = redirect("my-calendar")
    response.set_signed_cookie(
        ADDRESS_COOKIE,
        token,
        max_age=300,
        path=reverse("my-calendar"),
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return response


@require_POST
def take_back(request: HttpRequest) -> HttpResponse:
    """Make the address stop working."""
    feeds.take_back(cast(Person, request.user))
    messages.success(request, _("The address does not work any more."))
    return redirect("my-calendar")
