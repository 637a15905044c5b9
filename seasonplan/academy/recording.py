"""Write down who changed what about an academy: in the transaction of the change, or not at all.

Every function that gives or takes a role, a link between people, a consent, a setting or a plan in
force calls `record`. `/people/record/` shows it to directors.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction

from seasonplan.academy.models import Academy, Change, Membership, Person, Player, Role

NOTHING = ""


def record(
    academy: Academy | int,
    what: Change.What,
    *,
    by: Person | None,
    before: str = NOTHING,
    after: str = NOTHING,
    player: Player | None = None,
    person: Person | None = None,
    subject: str = "",
    path: str = "",
) -> None:
    """Keep one change; what is as it was is none. Raises RuntimeError outside of a transaction.

    The words must name nobody: `player` and `person` say who it is about, `by` who did it (None:
    the server itself). Words that are too long for a column are cut.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("a change is recorded in the transaction that makes it")
    before, after = before[:200], after[:200]
    if before == after:
        return
    academy_id = academy if isinstance(academy, int) else academy.pk
    Change.objects.create(
        academy_id=academy_id,
        what=what,
        who=by,
        player=player,
        person=person,
        subject=subject[:120],
        before=before,
        after=after,
        path=path,
    )


def record_team(
    player: Player, *, before: Iterable[Membership], after: Iterable[Membership], by: Person | None
) -> None:
    """Keep who came to a player's team and who left it, one change each."""
    were, are = {m.pk: m for m in before}, {m.pk: m for m in after}
    for pk, membership in {**were, **are}.items():
        works = str(Role(membership.role).label)
        record(
            player.academy_id,
            Change.What.TEAM,
            by=by,
            player=player,
            person=membership.person,
            before=works if pk in were else NOTHING,
            after=works if pk in are else NOTHING,
        )
