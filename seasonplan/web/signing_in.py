"""Where somebody who is not signed in is sent, and where they come back to."""

from collections.abc import Callable
from urllib.parse import urlsplit

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import resolve_url


class SignInFirst(LoginRequiredMiddleware):
    """Send to the log-in whoever needs one, and afterwards back to the page they were on.

    The address of a form or of a piece for htmx is no page to come back to.
    """

    def handle_no_permission(
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> HttpResponseRedirect:
        page = request.get_full_path()
        if request.method not in ("GET", "HEAD") or "HX-Request" in request.headers:
            came_from = request.headers.get("HX-Current-URL") or request.headers.get("Referer", "")
            page = _within_the_server(came_from) or "/"
        return redirect_to_login(
            page,
            resolve_url(self.get_login_url(view_func)),
            self.get_redirect_field_name(view_func),
        )


def _within_the_server(address: str) -> str:
    """Path and query alone, so that no other server is ever led to."""
    try:
        parts = urlsplit(address)
    except ValueError:
        return ""
    return parts._replace(scheme="", netloc="", fragment="").geturl()
