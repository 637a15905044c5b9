"""What is shown to somebody who is signed in stays out of every cache on its way."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponse

PRIVATE: Final = "private, no-store"


class Private:
    """Middleware: nothing that a person sees is stored, unless its view says otherwise.

    The pages that a phone keeps for a time without a signal are kept by the service worker, under
    the person they are for, and are wiped when anybody signs in or out; caches know neither.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        if request.user.is_authenticated and "Cache-Control" not in answer.headers:
            answer.headers["Cache-Control"] = PRIVATE
        return answer
