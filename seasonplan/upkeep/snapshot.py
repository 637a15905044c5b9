"""Look at the whole database as it was at one moment, while others go on writing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from django.db import connection, connections, transaction

ALIAS: Final = "snapshot"


@contextmanager
def snapshot() -> Iterator[str]:
    """A connection of its own, by its alias, whose every read sees the moment of its first.

    On SQLite that is what a transaction sees that only reads, with the write-ahead log; on
    PostgreSQL one of the isolation level REPEATABLE READ. Neither holds up a writer.
    """
    own = connection.copy(ALIAS)
    if own.vendor == "sqlite":
        own.settings_dict["OPTIONS"]["transaction_mode"] = "DEFERRED"
        first = "SELECT COUNT(*) FROM sqlite_master"
    else:
        first = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY"
    connections[ALIAS] = own
    try:
        with transaction.atomic(using=ALIAS):
            with own.cursor() as cursor:
                cursor.execute(first)
            yield ALIAS
    finally:
        own.close()
        del connections[ALIAS]
