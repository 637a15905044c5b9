"""Every table has its line, and every line names what is there."""

import pytest
from django.core.exceptions import FieldDoesNotExist
from django.db import connection

from seasonplan.upkeep.registry import TABLES, Erasing, Of, all_models, lines
from tests.conftest import Cast
from tests.upkeep.everything import fill_every_table

# Made by Django itself, with no model behind it.
WITHOUT_A_MODEL = {"django_migrations", "shared_cache"}


def test_every_model_has_a_line() -> None:
    without = sorted({model._meta.label for model in all_models()} - set(lines()))
    assert not without, f"these tables need a line in upkeep/registry.py: {', '.join(without)}"
    gone = sorted(set(lines()) - {model._meta.label for model in all_models()})
    assert not gone, f"these lines have no table: {', '.join(gone)}"
    assert len(lines()) == len(TABLES), "a table has two lines"


@pytest.mark.django_db
def test_every_table_of_the_database_is_one_of_a_model_or_of_django_itself() -> None:
    known = {model._meta.db_table for model in all_models()} | WITHOUT_A_MODEL
    assert set(connection.introspection.table_names()) <= known


@pytest.mark.parametrize("label", sorted(lines()))
def test_a_line_fits_its_table(label: str) -> None:
    table = lines()[label]
    for column in (*table.withheld, *table.emptied, *table.by_person):
        try:
            table.rows._meta.get_field(column)
        except FieldDoesNotExist:
            pytest.fail(f"{label} has no column {column}")
    for column in table.by_person:
        assert table.rows._meta.get_field(column).null, f"{label}.{column} cannot be emptied"
    assert bool(table.to_player) == (table.of == Of.PLAYER)
    assert bool(table.to_person) >= (table.of == Of.PERSON)
    assert not table.emptied or table.erasing == Erasing.STRIPS


def test_every_column_that_names_a_person_is_known_to_erasure() -> None:
    """A person is named by their own rows, or by a column that erasure empties."""
    for table in TABLES:
        for column in table.rows._meta.concrete_fields:
            if column.related_model is not None and column.related_model._meta.label == (
                "academy.Person"
            ):
                assert (
                    column.name in (*table.by_person, table.to_person)
                    or column.name in table.emptied
                ), f"{table.model}.{column.name}"


@pytest.mark.django_db
def test_the_filled_academy_fills_every_table(cast: Cast) -> None:
    fill_every_table(cast)
    empty = [model._meta.label for model in all_models() if not model._base_manager.exists()]
    assert not empty, f"tests/upkeep/everything.py fills no {', '.join(empty)}"
