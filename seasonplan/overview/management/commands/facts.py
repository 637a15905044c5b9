"""`manage.py facts`: work out anew what the academy pages keep and is out of date. For cron.

It may be run at any time and as often as one likes: after an import, and every night. What is up to
date is left as it is.
"""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from seasonplan.academy.models import Academy, Player
from seasonplan.overview.facts import bring_up_to_date
from seasonplan.overview.seasons_now import seasons_now

AT_ONCE = 50
"""Players in one reading and one writing, so that nothing waits long and little memory is used."""


class Command(BaseCommand):
    help = "Work out anew the kept facts of players' plans that are out of date."

    def handle(self, *args: Any, **options: Any) -> None:
        done = sum(_of_academy(academy) for academy in Academy.objects.order_by("pk"))
        self.stdout.write(f"Worked out anew: {done} player{'' if done == 1 else 's'}.")


def _of_academy(academy: Academy) -> int:
    done, today = 0, timezone.localdate()
    ids = list(Player.objects.filter(academy=academy).values_list("pk", flat=True))
    for first in range(0, len(ids), AT_ONCE):
        players = Player.objects.filter(pk__in=ids[first : first + AT_ONCE])
        seasons = seasons_now(players, academy, today=today)
        done += bring_up_to_date(seasons, today=today, now=timezone.now())
    return done
