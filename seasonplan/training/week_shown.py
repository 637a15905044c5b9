"""The target of a week goes to the page signed, and comes back with every edit.

It follows from the whole season, so working it out anew for each press would cost more than the
edit itself. A press made on a page is judged, and a week is filled, by the target that the page
shows. After an hour, or without it, the target is worked out anew and the page is told.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from datetime import date
from typing import Any, Final

from django.core import signing

from seasonplan.academy.models import Player
from seasonplan.science.week_target import TrainingDay, WeekTarget

SALT: Final = "seasonplan.training.week-target"
SECONDS: Final = 3600


@dataclass(frozen=True)
class Shown:
    """What a page shows as the target of its week; None where no season in force holds it."""

    target: WeekTarget | None


def signed_target(player: Player, monday: date, target: WeekTarget | None) -> str:
    value = _plain(asdict(target)) if target else None
    whole = {"player": player.pk, "monday": monday.isoformat(), "target": value}
    return signing.dumps(whole, salt=SALT, compress=True)


def shown_target(token: str, player_id: int, monday: date) -> Shown | None:
    """What the page says that it shows of this week; None if it is too old, or not of this week."""
    try:
        whole = signing.loads(token, salt=SALT, max_age=SECONDS)
    except signing.BadSignature:
        return None
    if (whole["player"], whole["monday"]) != (player_id, monday.isoformat()):
        return None
    value = whole["target"]
    if value is None:
        return Shown(None)
    names = {field.name for field in fields(WeekTarget)}
    if set(value) != names:  # signed by another version of the program
        return None
    days = tuple(
        TrainingDay(**day | {"day": date.fromisoformat(day["day"])}) for day in value["days"]
    )
    said = {"monday": monday, "days": days, "reasons": tuple(value["reasons"])}
    return Shown(WeekTarget(**value | said))


def _plain(value: dict[str, Any]) -> dict[str, Any]:
    """With days as text, as JSON wants them."""
    days = [day | {"day": day["day"].isoformat()} for day in value["days"]]
    return value | {
        "monday": value["monday"].isoformat(),
        "shares": dict(value["shares"]),
        "days": days,
    }
