"""Write everything that the database holds into one file, while it is in use.

The file is sealed (`sealing.py`). Its first line of content says what it holds: when it was made,
by which version of the tables, and which tables. Then comes each table: a line with its name and
its columns, a line a row, and a line with the number of rows. `restoring.py` reads it.
"""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO, Final

from django.db import connections, models
from django.db.migrations.recorder import MigrationRecorder

from seasonplan.upkeep.models import LastRun
from seasonplan.upkeep.registry import all_models, lines
from seasonplan.upkeep.rows import columns_of, rows_as_json
from seasonplan.upkeep.sealing import SealedWriter
from seasonplan.upkeep.snapshot import snapshot

ENDING: Final = ".backup"
NAMES: Final = f"seasonplan-*{ENDING}"


@dataclass(frozen=True)
class BackedUp:
    """What a backup holds, as its command prints it."""

    path: Path
    rows: int
    tables: int
    bytes: int
    encrypted: bool

    def __str__(self) -> str:
        sealed = "encrypted" if self.encrypted else "not encrypted"
        return (
            f"{self.path}: {self.rows} rows of {self.tables} tables in {self.bytes / 1e6:.1f} MB, "
            f"{sealed}"
        )


def models_in_backup() -> list[type[models.Model]]:
    """The tables that a backup holds, in the order of the models."""
    return [model for model in all_models() if lines()[model._meta.label].in_backup]


def applied_migrations(using: str) -> list[str]:
    """The migrations that made the tables, such as `academy.0001_initial`."""
    applied = MigrationRecorder(connections[using]).applied_migrations()
    return sorted(f"{app}.{name}" for app, name in applied)


def back_up(path: Path, *, key: bytes | None, clock: Callable[[], datetime]) -> BackedUp:
    """Write a backup to a file that is not there yet; in a folder it gets a name of its own.

    The file is there only when it is whole, and for its owner alone to read. Raises OSError.
    """
    now = clock()
    if path.is_dir():
        path = path / f"seasonplan-{now.astimezone(UTC):%Y-%m-%dT%H%M%SZ}{ENDING}"
    with _whole_or_not_at_all(path) as file, snapshot() as using:
        writer = SealedWriter(file, key)
        tables = models_in_backup()
        head = {
            "made_at": now.isoformat(),
            "migrations": applied_migrations(using),
            "tables": [model._meta.label for model in tables],
        }
        writer.line(json.dumps(head))
        rows = sum(_write_table(writer, model, using) for model in tables)
        writer.finish()
        size = file.tell()
    LastRun.objects.update_or_create(job=LastRun.Job.BACKUP, defaults={"at": clock()})
    return BackedUp(path, rows, len(tables), size, key is not None)


def _write_table(writer: SealedWriter, model: type[models.Model], using: str) -> int:
    writer.line(json.dumps({"table": model._meta.label, "columns": columns_of(model)}))
    count = 0
    for line in rows_as_json(model, using=using):
        writer.line(line)
        count += 1
    writer.line(json.dumps({"rows": count}))
    return count


@contextmanager
def _whole_or_not_at_all(path: Path) -> Iterator[BinaryIO]:
    """A file that gets its name when it is written to the end; raises FileExistsError."""
    if path.exists():
        raise FileExistsError(17, "it is there already, and a backup replaces nothing", str(path))
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with open(handle, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        # A link, unlike a new name, never takes the place of a file that came meanwhile.
        os.link(draft, path)
    finally:
        draft.unlink()


def remove_older(folder: Path, *, keep: int) -> list[Path]:
    """Delete all but the latest backups in a folder that were named there; their paths."""
    older = sorted(folder.glob(NAMES), reverse=True)[keep:]
    for path in older:
        path.unlink()
    return older
