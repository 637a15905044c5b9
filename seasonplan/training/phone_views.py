"""This week on the player's phone: what now, and which sessions.

The other pages of the phone, and who gets them, are in `checkins/phone_views.py`.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.http import HttpRequest

from seasonplan.checkins.inbox import new_replies
from seasonplan.checkins.phone import week_page
from seasonplan.checkins.phone_log import log_page
from seasonplan.checkins.phone_views import (
    Looking,
    for_a_player,
    material_of,
    news_of,
    standing_of,
    written_by,
)
from seasonplan.training.library import library_of
from seasonplan.training.models import TrainingSession, TrainingWeek
from seasonplan.training.phone_week import phone_week


@for_a_player
def week(request: HttpRequest, looking: Looking) -> tuple[str, dict[str, Any]]:
    """This week: what now?"""
    material, written = material_of(looking), written_by(looking)
    logs = log_page(
        material,
        written,
        today=looking.today,
        asks_health=standing_of(looking).allows,
    )
    planned = _planned(looking)
    page = phone_week(
        week_page(material, today=looking.today),
        planned,
        written.sessions,
        [each.kind for each in library_of(looking.player.academy)] if planned else (),
        today=looking.today,
    )
    context = {
        "page": page.week,
        "training": page,
        "due": logs.due,
        "replies": new_replies(looking.player, looking.person),
        **news_of(looking),
    }
    return "training/phone_week.html", context


def _planned(looking: Looking) -> list[TrainingSession]:
    """The planned sessions of the week of today."""
    monday = looking.today - timedelta(days=looking.today.weekday())
    weeks = TrainingWeek.objects.visible_to(looking.person).filter(
        player=looking.player, monday=monday
    )
    return [row for week in weeks.prefetch_related("sessions") for row in week.sessions.all()]
