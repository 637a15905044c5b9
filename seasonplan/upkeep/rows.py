"""Rows of any table as lines of JSON, and back: exactly, on every database.

Backup and restore speak of rows in this form, so that a backup made on SQLite can be restored on
PostgreSQL. Values are those of Python: a moment keeps its microseconds, a decimal its places.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django.db import connections, models

AT_ONCE: Final = 500


def columns_of(model: type[models.Model]) -> list[str]:
    """The names of a table's columns, as Django's models call their values."""
    return [column.attname for column in model._meta.concrete_fields]


def rows_as_json(model: type[models.Model], *, using: str) -> Iterator[str]:
    """Each row as a JSON list of its values, in the order of the key; read a part at a time."""
    rows = model._base_manager.using(using).order_by("pk").values_list(*columns_of(model))
    for row in rows.iterator(chunk_size=AT_ONCE):
        yield json.dumps([_plain(value) for value in row], ensure_ascii=False)


def _plain(value: Any) -> Any:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, Decimal | UUID):
        return str(value)
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode()
    return value


def insert_rows(model: type[models.Model], rows: Iterable[Sequence[Any]], *, using: str) -> None:
    """Put rows that came from `rows_as_json` into a table, key and all."""
    connection = connections[using]
    fields = model._meta.concrete_fields
    names = ", ".join(connection.ops.quote_name(str(field.column)) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    table = connection.ops.quote_name(model._meta.db_table)
    prepared = [
        [
            field.get_db_prep_save(_value(field, value), connection)
            for field, value in zip(fields, row, strict=True)
        ]
        for row in rows
    ]
    with connection.cursor() as cursor:
        cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({places})", prepared)  # noqa: S608


def _value(field: models.Field[Any, Any], plain: Any) -> Any:
    """The value of Python that `_plain` was given."""
    return plain if isinstance(field, models.JSONField) else field.to_python(plain)
