"""Count the answers of this process, and how long they took; `/metrics` says it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock
from time import perf_counter
from typing import Final

from django.http import HttpRequest
from django.http.response import HttpResponseBase

BOUNDS_S: Final = (0.05, 0.1, 0.2, 0.4, 1.0, 2.5, 10.0)
"""Seconds up to which answers are counted together."""


@dataclass
class Counts:
    """Answers by the first digit of their status, and by how long they took."""

    answers: Counter[int] = field(default_factory=Counter)
    within: Counter[float] = field(default_factory=Counter)
    seconds: float = 0.0
    lock: Lock = field(default_factory=Lock)

    def add(self, status: int, seconds: float) -> None:
        with self.lock:
            self.answers[status // 100] += 1
            self.seconds += seconds
            self.within.update(bound for bound in BOUNDS_S if seconds <= bound)


COUNTS: Final = Counts()
"""Of this process alone; it begins anew with the process."""


class CountRequests:
    """The outermost middleware: the time of an answer is that until it begins."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        began = perf_counter()
        response = self.get_response(request)
        COUNTS.add(response.status_code, perf_counter() - began)
        return response
