"""Small seasons drawn at random, for tests that compare the solver with the exhaustive search.

`problem(seed)` is the same dictionary in the file form for the same seed, for ever. The seeds
0..199 between them exercise every rule and every term of the value; `tiny(seed)` is small enough
to try even the layouts that the exhaustive search has reasons to leave out.

About seven in ten problems are drawn around a sequence of blocks that keeps every rule, with
targets laid into its competition weeks; the others are drawn without such care, so that rules must
break.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random
from typing import Any

PHASES = ("preparation", "pre-competition", "competition", "active rest")
SURFACES = ("clay", "hard", "grass", "carpet")

# latitude, longitude, timezone, elevation in metres
PLACES: dict[str, tuple[float, float, str, int]] = {
    "Barcelona": (41.4, 2.2, "Europe/Madrid", 10),
    "Valencia": (39.5, -0.4, "Europe/Madrid", 20),
    "Lisbon": (38.7, -9.1, "Europe/Lisbon", 100),
    "Tunis": (36.8, 10.2, "Africa/Tunis", 5),
    "Antalya": (36.9, 30.7, "Europe/Istanbul", 40),
    "Nairobi": (-1.3, 36.8, "Africa/Nairobi", 1680),
    "Pune": (18.5, 73.9, "Asia/Kolkata", 560),
    "Kathmandu": (27.7, 85.3, "Asia/Kathmandu", 1340),
    "Bangkok": (13.8, 100.5, "Asia/Bangkok", 5),
    "Osaka": (34.7, 135.5, "Asia/Tokyo", 10),
    "Perth": (-31.9, 115.9, "Australia/Perth", 20),
    "Auckland": (-36.8, 174.8, "Pacific/Auckland", 20),
    "Honolulu": (21.3, -157.9, "Pacific/Honolulu", 5),
    "Austin": (30.3, -97.7, "America/Chicago", 150),
    "Mexico City": (19.4, -99.1, "America/Mexico_City", 2240),
    "Bogota": (4.6, -74.1, "America/Bogota", 2550),
    "Lima": (-12.0, -77.0, "America/Lima", 150),
    "La Paz": (-16.5, -68.1, "America/La_Paz", 3640),
}
HOMES = ("Barcelona", "Barcelona", "Lisbon", "Antalya", "Bangkok", "Austin", "Auckland", "Bogota")
HIGHS_NORTH = [14, 15, 17, 19, 22, 26, 29, 29, 26, 22, 17, 14]
UNUSUAL: dict[str, list[float]] = {
    "tune_up_weeks": [0, 2],
    "peak_weeks": [1, 2],
    "peak_gap_weeks": [1, 2, 5],
    "max_run": [1, 2],
    "quiet_weeks": [0, 1],
    "max_events": [1, 2, 3],
    "budget": [0, 150, 500.5, 900],
    "min_events": [3, 5],
    "home_gap_days": [4, 6, 20],
    "one_day_travel_km": [2000, 9000],
    "clock_threshold_h": [1, 5],
    "east_min_per_day": [57, 90],
    "west_min_per_day": [60, 92],
    "surface_days": [0, 5],
    "heat_days": [4, 10],
    "heat_step_c": [4, 12],
    "travel_weight": [0, 0.3, 3],
    "missing_weight": [0.5, 12],
    "short_weight": [7.25],
    "change_weight": [2, 25],
}
MONDAYS = ("2026-01-05", "2026-03-02", "2026-08-31", "2027-01-04", "2027-09-06")

Blocks = list[tuple[str, int]]
"""Phase and whole weeks of each block."""


def problem(seed: int) -> dict[str, Any]:
    """A season of 14 to 24 weeks with 5 to 9 events."""
    rng = Random(f"season {seed}")
    return _draw(rng, weeks=rng.randint(14, 24), events=rng.randint(5, 9))


def tiny(seed: int) -> dict[str, Any]:
    """A season of 6 or 7 weeks with 3 or 4 events."""
    rng = Random(f"tiny season {seed}")
    return _draw(rng, weeks=rng.randint(6, 7), events=rng.randint(3, 4))


def _draw(rng: Random, weeks: int, events: int) -> dict[str, Any]:
    careful = rng.random() < 0.7
    limits = _limits(rng, weeks, careful)
    blocks, sound = _blocks(rng, weeks, limits)
    while careful and not sound:
        limits = _limits(rng, weeks, careful)
        blocks, sound = _blocks(rng, weeks, limits)
    monday = date.fromisoformat(rng.choice(MONDAYS))
    home_name = rng.choice(HOMES)
    home = _place(home_name) | {
        "name": "Base",
        "surface": rng.choice(SURFACES[:3]),
        "monthly_high_c": rng.choice([HIGHS_NORTH, HIGHS_NORTH, HIGHS_NORTH[6:] + HIGHS_NORTH[:6]]),
    }
    if rng.random() < 0.1:
        home["monthly_high_c"] = None

    drawn = []
    if careful:
        drawn += _targets_in_competition(rng, monday, blocks, home_name, home["surface"])
    while len(drawn) < events:
        role = rng.choice(["build-up", "open"]) if careful else None
        drawn.append(_anywhere(rng, monday, weeks, home_name, role))
    rng.shuffle(drawn)
    chosen = [
        {"code": f"e{n}", "name": f"Event {n}"} | event for n, event in enumerate(drawn[:events])
    ]

    whole: dict[str, Any] = {
        "season": {
            "start": monday.isoformat(),
            "end": (monday + timedelta(weeks=weeks, days=-1)).isoformat(),
        },
        "today": None,
        "home": home,
        "events": chosen,
        "busy": _busy(rng, monday, weeks, chosen, careful),
        "limits": limits,
        "keep": [],
        "drop": [],
        "in_force": None,
    }
    _pin(rng, whole)
    _put_in_force(rng, whole, monday, weeks, blocks)
    return whole


def _limits(rng: Random, weeks: int, careful: bool) -> dict[str, Any]:
    limits: dict[str, Any] = {}
    small = weeks < 22 or rng.random() < 0.7
    if small:
        limits["preparation_weeks"] = [1, rng.randint(2, 4)]
        limits["pre_competition_weeks"] = [1, rng.randint(1, 3)]
        limits["competition_weeks"] = [rng.randint(1, 2), rng.randint(3, 6)]
        limits["active_rest_weeks"] = [1, rng.randint(1, 3)]
        limits["min_rest_weeks"] = rng.randint(0, 3 if careful else 7)
        limits["final_rest_weeks"] = rng.randint(0, 1 if careful else 3)
        limits["min_cycles"] = rng.randint(0, 3 if careful else 5)
    if rng.random() < 0.5:
        limits["first_phase"] = rng.choice(PHASES)
    if rng.random() < 0.4:
        limits["weeks_already_done"] = rng.randint(1, 5)
    few = 0.12 if careful else 0.3
    for name, values in UNUSUAL.items():
        if rng.random() < few:
            limits[name] = rng.choice(values)
    return limits


def _blocks(rng: Random, weeks: int, limits: dict[str, Any]) -> tuple[Blocks, bool]:
    """Blocks that keep the rules about blocks, and True; or any blocks, and False."""
    blocks: Blocks = []
    for _ in range(200):
        blocks = _throw_blocks(rng, weeks, limits)
        phases = [phase for phase, length in blocks for _ in range(length)]
        final = limits.get("final_rest_weeks", 2)
        done = limits.get("weeks_already_done", 0)
        cycles = sum(phase == "competition" for phase, _ in blocks)
        if (
            cycles >= limits.get("min_cycles", 2)
            and phases.count("active rest") >= limits.get("min_rest_weeks", 4)
            and all(phase == "active rest" for phase in phases[len(phases) - final :])
            and all(
                shortest <= length + (done if n == 0 else 0) <= longest
                or (n == len(blocks) - 1 and phase != "competition" and length < shortest)
                for n, (phase, length) in enumerate(blocks)
                for shortest, longest in [_lengths(limits, phase)]
            )
        ):
            return blocks, True
    return blocks, False


def _lengths(limits: dict[str, Any], phase: str) -> tuple[int, int]:
    usual = {
        "preparation": [4, 12],
        "pre-competition": [4, 6],
        "competition": [2, 10],
        "active rest": [1, 4],
    }
    key = phase.replace("-", "_").replace(" ", "_") + "_weeks"
    shortest, longest = limits.get(key, usual[phase])
    return shortest, longest


def _throw_blocks(rng: Random, weeks: int, limits: dict[str, Any]) -> Blocks:
    phase = PHASES.index(limits.get("first_phase", "preparation"))
    done = limits.get("weeks_already_done", 0)
    blocks: Blocks = []
    left = weeks
    while left:
        name = PHASES[phase]
        shortest, longest = _lengths(limits, name)
        length = min(left, max(1, rng.randint(shortest, longest) - done))
        blocks.append((name, length))
        left, done, phase = left - length, 0, (phase + 1) % 4
    return blocks


def _place(name: str) -> dict[str, Any]:
    lat, lon, timezone, elevation = PLACES[name]
    return {"lat": lat, "lon": lon, "timezone": timezone, "elevation_m": elevation}


def _event(
    start: date, days: int, place: str, surface: str, high: float | None, role: str, rng: Random
) -> dict[str, Any]:
    return {
        "start": start.isoformat(),
        "end": (start + timedelta(days=days - 1)).isoformat(),
        **_place(place),
        "high_c": high,
        "surface": surface,
        "role": role,
        "worth": rng.choice([rng.randint(5, 95), rng.randint(5, 95), 62.5, 20.25]),
        "cost": rng.choice([0, 0, 80, 200, 450, 99.5]),
    }


def _targets_in_competition(
    rng: Random, monday: date, blocks: Blocks, home: str, surface: str
) -> list[dict[str, Any]]:
    """One to three one-week targets that a careful season can hold: in competition weeks, at home
    or near it, on the home surface most of the time; now and then two in neighbouring weeks."""
    targets: list[dict[str, Any]] = []
    week = 0
    near = ["Barcelona", "Valencia", "Lisbon", "Tunis"] if home in ("Barcelona", "Lisbon") else []
    for phase, length in blocks:
        if phase == "competition" and rng.random() < 0.8:
            at = week + rng.randrange(length)
            target_weeks = [at]
            if length >= 2 and rng.random() < 0.35:
                target_weeks = [week, week + 1]
            if length >= 6 and rng.random() < 0.6:
                target_weeks = [week, week + length - 1]
            place = rng.choice([home, *near])
            on = surface if rng.random() < 0.8 or len(target_weeks) > 1 else rng.choice(SURFACES)
            for target_week in target_weeks:
                start = monday + timedelta(weeks=target_week, days=rng.choice([0, 1]))
                days = rng.choice([5, 6])
                targets.append(_event(start, days, place, on, None, "target", rng))
        week += length
    return targets[:3]


def _anywhere(rng: Random, monday: date, weeks: int, home: str, role: str | None) -> dict[str, Any]:
    days = rng.choice([2, 3, 5, 6, 7, 7, 9, 12, 13, 14])
    latest = 7 * weeks - days
    day = rng.randint(0, latest)
    if rng.random() < 0.5:
        day -= day % 7  # most events begin on a Monday
    place = rng.choice([home, *PLACES]) if rng.random() < 0.7 else rng.choice(list(PLACES)[:5])
    return _event(
        monday + timedelta(days=day),
        days,
        place,
        rng.choice(SURFACES),
        rng.choice([None, 18, 24, 28, 30, 34.5, 38]),
        role or rng.choice(["target", "build-up", "build-up", "open", "open"]),
        rng,
    )


def _busy(
    rng: Random, monday: date, weeks: int, events: list[dict[str, Any]], careful: bool
) -> list[dict[str, str]]:
    busy = []
    for why in ("exams", "family")[: rng.choice([0, 1, 1, 2])]:
        start = monday + timedelta(days=rng.randrange(7 * weeks - 7))
        end = start + timedelta(days=rng.choice([0, 2, 6]))
        hits_a_target = any(
            event["role"] == "target"
            and event["start"] <= end.isoformat()
            and start.isoformat() <= event["end"]
            for event in events
        )
        if not (careful and hits_a_target):
            busy.append({"start": start.isoformat(), "end": end.isoformat(), "why": why})
    return busy


def _pin(rng: Random, whole: dict[str, Any]) -> None:
    codes = [event["code"] for event in whole["events"]]
    if rng.random() < 0.25:
        whole["keep"] = rng.sample(codes, rng.choice([1, 1, 1, 2]))
    if rng.random() < 0.25:
        left = [code for code in codes if code not in whole["keep"]]
        whole["drop"] = rng.sample(left, 1)


def _put_in_force(
    rng: Random, whole: dict[str, Any], monday: date, weeks: int, blocks: Blocks
) -> None:
    if rng.random() < 0.65:
        return
    in_force: list[str] = []
    last_end: date | None = None
    for event in sorted(whole["events"], key=lambda e: (e["start"], e["code"])):
        start = date.fromisoformat(event["start"])
        free = last_end is None or (start - last_end).days > 4
        clear = not any(
            busy["start"] <= event["end"] and event["start"] <= busy["end"]
            for busy in whole["busy"]
        )
        if free and clear and event["code"] not in whole["drop"] and rng.random() < 0.6:
            in_force.append(event["code"])
            last_end = date.fromisoformat(event["end"])
    in_file_form = []
    week = 0
    for phase, length in blocks:
        in_file_form.append(
            {
                "phase": phase,
                "start": (monday + timedelta(weeks=week)).isoformat(),
                "end": (monday + timedelta(weeks=week + length, days=-1)).isoformat(),
            }
        )
        week += length
    whole["in_force"] = {"events": in_force, "blocks": in_file_form}
    if rng.random() < 0.7:
        whole["today"] = (monday + timedelta(days=rng.randrange(7 * weeks))).isoformat()
    elif rng.random() < 0.5:
        whole["in_force"]["blocks"] = []


def with_cancelled(seed: int) -> dict[str, Any]:
    """The problem of this seed, in which one or two events that are not pinned are called off."""
    whole = problem(seed)
    codes = [event["code"] for event in whole["events"] if event["code"] not in whole["keep"]]
    rng = Random(f"called off {seed}")
    return {**whole, "cancelled": sorted(rng.sample(codes, min(len(codes), rng.choice([1, 2]))))}
