"""Put a backup back: all of it, into tables of the same version, or nothing at all."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Any

from django.contrib.contenttypes.models import ContentType
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, models, transaction

from seasonplan.academy.models import Academy, Person
from seasonplan.upkeep.backing_up import applied_migrations, models_in_backup
from seasonplan.upkeep.registry import all_models
from seasonplan.upkeep.rows import AT_ONCE, columns_of, insert_rows
from seasonplan.upkeep.sealing import DAMAGED, Unreadable, sealed_lines


class NotEmpty(Exception):
    """The database holds people or academies, which a restore would take away."""


@dataclass(frozen=True)
class Restored:
    """What a restore put back."""

    made_at: datetime
    rows: int
    tables: int

    def __str__(self) -> str:
        return f"{self.rows} rows of {self.tables} tables, as they were at {self.made_at:%F %T %Z}"


def restore(path: Path, *, key: bytes | None, replace: bool) -> Restored:
    """Make the database what it was when the backup was made.

    Everything happens in one transaction, which is undone as a whole by whatever goes wrong.
    Nobody stays signed in. Raises Unreadable, NotEmpty unless `replace`, and OSError.
    """
    with path.open("rb") as file, transaction.atomic():
        if not replace and (Person.objects.exists() or Academy.objects.exists()):
            raise NotEmpty
        lines = sealed_lines(file, key)
        head = _object(lines, "made_at", "migrations", "tables")
        _same_version(head)
        wanted = models_in_backup()
        if head["tables"] != [model._meta.label for model in wanted]:
            raise Unreadable(DAMAGED)
        _empty_all()
        try:
            rows = sum(_restore_table(lines, model) for model in wanted)
            _nothing_after(lines)
            connection.check_constraints()
            _continue_numbers(wanted)
        except (DatabaseError, ValueError) as error:
            raise Unreadable(f"The backup does not fit the tables: {error}") from error
    ContentType.objects.clear_cache()
    return Restored(datetime.fromisoformat(head["made_at"]), rows, len(wanted))


def _same_version(head: dict[str, Any]) -> None:
    here, there = set(applied_migrations(DEFAULT_DB_ALIAS)), set(head["migrations"])
    if missing := sorted(there - here):
        raise Unreadable(
            f"The backup is of a newer version of Seasonplan than this one ({missing[-1]} is not "
            "applied here). Install that version, run migrate, and restore again."
        )
    if newer := sorted(here - there):
        raise Unreadable(
            f"The backup is of an older version of Seasonplan than this one ({newer[0]} is applied "
            "here). Install that version into an empty database, restore there, and upgrade then."
        )


def _restore_table(lines: Iterator[str], model: type[models.Model]) -> int:
    front = _object(lines, "table", "columns")
    if front["table"] != model._meta.label or front["columns"] != columns_of(model):
        raise Unreadable(DAMAGED)
    count, end = 0, None
    while end is None:
        part = []
        for line in islice(lines, AT_ONCE):
            read = json.loads(line)
            if isinstance(read, dict):
                end = read
                break
            part.append(read)
        else:
            if not part:
                raise Unreadable(DAMAGED)
        insert_rows(model, part, using=DEFAULT_DB_ALIAS)
        count += len(part)
    if end.get("rows") != count:
        raise Unreadable(DAMAGED)
    return count


def _object(lines: Iterator[str], *keys: str) -> dict[str, Any]:
    """The next line, which must be an object with these keys."""
    try:
        read = json.loads(next(lines))
    except (StopIteration, ValueError) as error:
        raise Unreadable(DAMAGED) from error
    if not isinstance(read, dict) or not set(keys) <= set(read):
        raise Unreadable(DAMAGED)
    return read


def _nothing_after(lines: Iterator[str]) -> None:
    """Read to the end, where the last seal is looked at."""
    if next(lines, None) is not None:
        raise Unreadable(DAMAGED)


def _empty_all() -> None:
    """Empty every table; who points at whom is looked at when all rows are in."""
    with connection.cursor() as cursor:
        for model in all_models():
            table = connection.ops.quote_name(model._meta.db_table)
            cursor.execute(f"DELETE FROM {table}")  # noqa: S608


def _continue_numbers(tables: list[type[models.Model]]) -> None:
    """Let the next row of each table get a number above all that came back."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), tables):
            cursor.execute(statement)
