"""In which language is somebody spoken to? Their own choice first, then what the browser asks for.

Pages, mails and calendars ask. Whoever joins an academy begins with the academy's language.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation
from django.utils.cache import patch_vary_headers

from seasonplan.academy.models import Person


def language_of(person: Person) -> str:
    """The person's own choice, or the server's language."""
    return person.language or settings.LANGUAGE_CODE


def speaking_to(person: Person) -> AbstractContextManager[None]:
    """Within it all is said in the person's language: for mails, which no request asks for."""
    return translation.override(language_of(person))


class Speaking:
    """Middleware: the language of one request."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        person = request.user
        chosen = person.language if isinstance(person, Person) else ""
        language = chosen or translation.get_language_from_request(request)
        # Not taken back afterwards: what is streamed is said after this has returned, and the next
        # request of the thread chooses anew.
        translation.activate(language)
        request.LANGUAGE_CODE = language
        answer = self.get_response(request)
        if not chosen:
            patch_vary_headers(answer, ("Accept-Language",))
        answer.headers.setdefault("Content-Language", language)
        return answer
