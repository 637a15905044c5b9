"""How many logs of which player are unread: for lists of players.

Which logs those are, and what they say, is for `inbox.py`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import Any

from django.db.models import Prefetch

from seasonplan.academy.consent import ConsentStanding, standing_of
from seasonplan.academy.models import Consent, Membership, Person, Player, Role
from seasonplan.academy.requiring import Requirements, requirements_of
from seasonplan.checkins.inbox import unread, with_state
from seasonplan.checkins.models import DayLog, EventCheckIn
from seasonplan.checkins.sharing import Reading, reading, reads_more


def unread_counts(person: Person, *, today: date) -> Counter[int]:
    """Unread logs by player, of those whom the person coaches or looks after as support staff.

    As many queries for fifty players as for five, and one more for each further academy.
    """
    readings = dict(_readings(person, today))
    counts: Counter[int] = Counter()
    for model, about in ((EventCheckIn, "check_in"), (DayLog, "day_log")):
        logs: Any = with_state(model.objects.filter(player__in=readings), about, person)
        counts.update(
            log.player_id
            for log in logs.filter(unread(own=False)).order_by()
            if reads_more(readings[log.player_id].of(log))
        )
    return counts


def _readings(person: Person, today: date) -> Iterator[tuple[int, Reading]]:
    """What the person reads of each player they work with."""
    own = Membership.objects.filter(person=person, role__in=[Role.COACH, Role.STAFF])
    players = (
        Player.objects.filter(team__in=own)
        .exclude(person=person)
        .select_related("academy")
        .prefetch_related(
            Prefetch("team", own, to_attr="own_memberships"),
            Prefetch(
                "consents", Consent.objects.filter(withdrawn_at=None), to_attr="standing_consents"
            ),
            "sharing_choices",
        )
        .distinct()
    )
    required: dict[int, Requirements] = {}
    for player in players:
        if player.academy_id not in required:
            required[player.academy_id] = requirements_of(player.academy)
        yield (
            player.pk,
            reading(
                player,
                _standing(player, today),
                is_player=False,
                roles=[membership.role for membership in player.own_memberships],
                rows=list(player.sharing_choices.all()),
                requirements=required[player.academy_id],
            ),
        )


def _standing(player: Any, today: date) -> ConsentStanding:
    return standing_of(player, player.standing_consents, today=today)
