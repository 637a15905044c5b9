"""How long does the debrief take of a season with eighty events: run by hand.

    SEASONPLAN_DEVELOPMENT=1 python -m pytest tests/bench/debrief_speed.py -s

The first visit works out every p; later ones find them kept. It is processor
time, which a busy machine does not stretch, of the page asked for within the process, with the
database of the tests.
"""

from datetime import timedelta
from statistics import median
from time import process_time

from django.urls import reverse

from seasonplan.science import ranks
from tests.debrief.years import a_season, many
from tests.factories import ConsentFactory, SessionLogFactory

EVENTS = 80
VISITS = 9
MOST_MS = 400


def test_eighty_events_take_less_than_400_ms(cast, as_) -> None:
    ConsentFactory(player=cast.ines)
    plan = a_season(cast.ines)
    many(plan, EVENTS)
    for day in range(300):
        SessionLogFactory(player=cast.ines, day=plan.start + timedelta(days=day))
    client, url = as_(cast.coach), reverse("debrief", args=[plan.pk])
    client.get(reverse("home"))
    times = {"first visit": [], "later visit": []}
    for _ in range(VISITS):
        ranks._pairing_p.cache_clear()
        ranks._orders.cache_clear()
        ranks.group_p.cache_clear()
        for visit in times.values():
            begun = process_time()
            assert client.get(url).status_code == 200
            visit.append(1000 * (process_time() - begun))
    for name, visit in times.items():
        print(f"{name}: median {median(visit):.0f} ms, longest {max(visit):.0f} ms")
    assert median(times["first visit"]) < MOST_MS
