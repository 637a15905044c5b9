"""Everything that is kept about a person or a player, as one file that they can read.

The file is a ZIP: `index.html` shows all tables in a browser, each table is a CSV file for a
spreadsheet, and `data.json` holds the same for other programs. `registry.py` says what a table is
called, whose it is and what of it is left out.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any, Final

from django.db import models
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.text import slugify
from django.utils.translation import gettext, pgettext

from seasonplan.academy.models import Person, Player
from seasonplan.upkeep.column_words import column_words
from seasonplan.upkeep.registry import TABLES, Table, leads_to
from seasonplan.web.sheets import Cell, Sheet, csv_file

ZIP_TYPE: Final = "application/zip"


@dataclass(frozen=True)
class HandedOut:
    """One table of the file: what it is called, and its rows as they can be read."""

    heading: str
    file_name: str
    header: tuple[str, ...]
    rows: list[tuple[Cell, ...]]


def file_of_person(person: Person, *, now: datetime) -> bytes:
    """What is kept about somebody who signs in, and about the players that they are."""
    wanted = [
        (table, rows)
        for table in TABLES
        if (rows := _of_person(table, person)) is not None and table.heading
    ]
    return _file(person.name, wanted, whole=True, now=now)


def file_of_player(player: Player, *, whole: bool, now: datetime) -> bytes:
    """What is kept about a player. Without `whole`, what the player alone reads is left out."""
    wanted = [
        (table, table.rows._base_manager.filter(leads_to(table.to_player, player)))
        for table in TABLES
        if table.to_player and table.heading and (whole or not table.alone)
    ]
    return _file(player.name, wanted, whole=whole, now=now)


def _of_person(table: Table, person: Person) -> models.QuerySet[Any] | None:
    about = models.Q(pk__in=[])
    if table.to_person:
        about |= leads_to(table.to_person, person)
    if table.to_player:
        for player in person.players.all():
            about |= leads_to(table.to_player, player)
    if not table.to_person and not table.to_player:
        return None
    return table.rows._base_manager.filter(about)


def _file(
    name: str, wanted: list[tuple[Table, models.QuerySet[Any]]], *, whole: bool, now: datetime
) -> bytes:
    tables: list[HandedOut] = []
    data: dict[str, list[dict[str, Any]]] = {}
    words = column_words()
    for table, rows in wanted:
        columns = _columns(table, whole=whole)
        found = list(rows.order_by("pk").select_related(*_relations(columns)))
        if not found:
            continue
        number = len(tables) + 1
        heading = gettext(table.heading)
        tables.append(
            HandedOut(
                heading=heading,
                file_name=f"{number:02}-{slugify(heading)}.csv",
                header=tuple(_named(column, words) for column in columns),
                rows=[tuple(_cells(row, columns)) for row in found],
            )
        )
        data[table.heading] = [
            {column.name: _plain(row, column) for column in columns} for row in found
        ]
    context = {"name": name, "now": now.astimezone(UTC), "tables": tables, "whole": whole}
    context["language"] = translation.get_language()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("index.html", render_to_string("upkeep/hand_out.html", context))
        for one in tables:
            archive.writestr(one.file_name, csv_file(Sheet(one.heading, one.header, one.rows)))
        archive.writestr("data.json", json.dumps(data, ensure_ascii=False, indent=1))
    return out.getvalue()


def _columns(table: Table, *, whole: bool) -> list[models.Field[Any, Any]]:
    """The columns that are handed out; numbers that only tie rows together say nothing."""
    left_out = {*table.withheld, *(() if whole else table.alone_in)}
    return [
        column
        for column in table.rows._meta.concrete_fields
        if column.name not in left_out
        and not (column.primary_key and not column.is_relation)
        and not isinstance(column, models.BinaryField)
    ]


def _relations(columns: list[models.Field[Any, Any]]) -> list[str]:
    """What is needed to call by name what a row points at."""
    found = []
    for column in columns:
        if column.related_model is not None:
            found.append(column.name)
            # The name of a log, a week or a member is made of the names of what these point at.
            found += [
                f"{column.name}__{further.name}"
                for further in column.related_model._meta.concrete_fields
                if further.name in ("player", "person", "event")
            ]
    return found


def _cells(row: models.Model, columns: list[models.Field[Any, Any]]) -> Iterator[Cell]:
    for column in columns:
        if column.choices:
            yield str(getattr(row, f"get_{column.name}_display")())
            continue
        value = _plain(row, column)
        if isinstance(value, bool):
            yield pgettext("of a column", "yes") if value else pgettext("of a column", "no")
        elif isinstance(value, int | float | str | None):
            yield value
        elif isinstance(value, list) and all(isinstance(part, str) for part in value):
            yield ", ".join(value)
        else:
            yield json.dumps(value, ensure_ascii=False)


def _plain(row: models.Model, column: models.Field[Any, Any]) -> Any:
    """The value as JSON can hold it: what a row points at by its name, a moment in UTC."""
    value = getattr(row, column.name)
    if isinstance(value, models.Model):
        return _label(value)
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(sep=" ", timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    if value is None or isinstance(value, bool | int | float | str | list | dict):
        return value
    return str(value)


def _label(row: models.Model) -> str:
    return str(getattr(row, "name", "") or row)


def _named(column: models.Field[Any, Any], words: Mapping[str, str]) -> str:
    name = str(column.verbose_name)
    said = words.get(name, name)
    return said[:1].upper() + said[1:]
