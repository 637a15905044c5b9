"""Reads the planner off the page: what a coach sees, week by week, in plain data."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from playwright.sync_api import Page

WEEKDAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]


@dataclass(frozen=True)
class SeenEvent:
    """An event of the planner; `weeks` are places in the list of weeks."""

    name: str
    is_target: bool
    weeks: tuple[int, ...]
    arrive: str
    origin: str

    def arrival(self, start: date) -> date:
        """The arrival day that the page names, as the last such day before `start`."""
        words = re.match(r"arrive (\w{3})\s(\d+)", self.arrive)
        assert words, f"{self.name} names no arrival day: {self.arrive!r}"
        day = next(
            day
            for day in (start - timedelta(days=back) for back in range(1, 29))
            if day.day == int(words[2])
        )
        assert WEEKDAYS[day.weekday()] == words[1]
        return day

    @property
    def flight_hours(self) -> float:
        words = re.search(r"([\d.]+)\s*h\b", self.origin)
        return float(words[1]) if words else 0.0


@dataclass(frozen=True)
class SeenWeek:
    iso: str
    phase: str
    in_peak: bool
    busy: tuple[str, ...]


@dataclass(frozen=True)
class SeenSeason:
    weeks: tuple[SeenWeek, ...]
    events: tuple[SeenEvent, ...]

    @property
    def targets(self) -> list[SeenEvent]:
        return [event for event in self.events if event.is_target]

    def peaks(self) -> list[tuple[int, ...]]:
        """The peak windows: runs of weeks in a peak."""
        runs: list[list[int]] = []
        for index, week in enumerate(self.weeks):
            if not week.in_peak:
                continue
            if runs and runs[-1][-1] == index - 1:
                runs[-1].append(index)
            else:
                runs.append([index])
        return [tuple(run) for run in runs]

    def block(self, index: int) -> tuple[int, ...]:
        """The weeks around this one that have its phase."""
        first = last = index
        while first > 0 and self.weeks[first - 1].phase == self.weeks[index].phase:
            first -= 1
        while last + 1 < len(self.weeks) and self.weeks[last + 1].phase == self.weeks[index].phase:
            last += 1
        return tuple(range(first, last + 1))


def read_season(page: Page) -> SeenSeason:
    raw: list[dict[str, Any]] = page.evaluate(
        """() => [...document.querySelectorAll("[data-week]")].map((week) => ({
          iso: week.dataset.week,
          phase: week.className.match(/(?:^| )in-(?!peak)(\\S+)/)?.[1] ?? "",
          peak: week.classList.contains("in-peak"),
          busy: [...week.querySelectorAll(".week-busy")].map((e) => e.textContent.trim()),
          cards: [...week.querySelectorAll("[data-event]")].map((card) => ({
            id: card.dataset.event,
            name: card.querySelector(".card-name").textContent.trim(),
            target: card.dataset.role === "Target",
            span: Number(card.className.match(/(?:^| )s(\\d+)/)[1]),
            arrive: card.querySelector(".card-arrive")?.textContent.trim() ?? "",
            origin: card.querySelector(".card-origin")?.textContent.trim() ?? "",
          })),
        }))"""
    )
    weeks = tuple(SeenWeek(w["iso"], w["phase"], w["peak"], tuple(w["busy"])) for w in raw)
    # An event that goes on in the next row of the planner has a card in each.
    cards: dict[str, list[tuple[int, dict[str, Any]]]] = {}
    for index, week in enumerate(raw):
        for card in week["cards"]:
            cards.setdefault(card["id"], []).append((index, card))
    events = tuple(
        SeenEvent(
            name=found[0][1]["name"],
            is_target=found[0][1]["target"],
            weeks=tuple(i for index, card in found for i in range(index, index + card["span"])),
            arrive=found[0][1]["arrive"],
            origin=found[0][1]["origin"],
        )
        for found in cards.values()
    )
    return SeenSeason(weeks, events)
