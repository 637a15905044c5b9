"""The few answers that a page with htmx gives: the page, or the pieces of it that changed."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseRedirectBase
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils.cache import patch_vary_headers
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails


class HtmxAnswers:
    """Say on every answer that the same address has two sizes of it, and take htmx along on a
    redirect: left to the browser, the page behind it would land inside the piece that asked."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if isinstance(response, HttpResponseRedirectBase) and wants_piece(request):
            cookies = response.cookies
            response = HttpResponseClientRedirect(response.url)
            response.cookies = cookies
        patch_vary_headers(response, ["HX-Request"])
        return response


def wants_piece(request: HttpRequest) -> bool:
    """True for an htmx swap; false for a browser's page, also when Back restores one."""
    htmx: HtmxDetails = request.htmx  # type: ignore[attr-defined]
    return bool(htmx) and not htmx.boosted and not htmx.history_restore_request


def page_or_pieces(
    request: HttpRequest,
    *,
    page: str,
    pieces: list[str],
    context: dict[str, Any],
    status: int = 200,
) -> HttpResponse:
    """Render the whole `page`, or for htmx only `pieces`.

    The first piece goes where the request's target says; the others find their own place, because
    each is rendered with `swap_oob` set and prints it as its root's `hx-swap-oob`.
    """
    if not wants_piece(request):
        return render(request, page, context, status=status)
    first, *others = pieces
    html = render_to_string(first, context, request=request)
    for other in others:
        html += render_to_string(other, {**context, "swap_oob": True}, request=request)
    return HttpResponse(html, status=status)
