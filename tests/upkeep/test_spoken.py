"""In which language what leaves, what stays and what is mailed is said."""

import csv
import io
import json
import zipfile
from collections.abc import Callable

from django.core import mail
from django.test import Client
from django.utils import timezone, translation

from seasonplan.academy.models import Player
from seasonplan.upkeep.column_words import column_words
from seasonplan.upkeep.erasing import erase_player
from seasonplan.upkeep.handing_out import _columns, file_of_player
from seasonplan.upkeep.registry import TABLES
from tests.conftest import Cast

As = Callable[..., Client]


def test_a_file_is_in_the_language_of_whoever_takes_it_and_the_same_to_programs(cast: Cast) -> None:
    names = {}
    for language in ("en-gb", "fr"):
        with translation.override(language):
            content = file_of_player(cast.ines, whole=True, now=timezone.now())
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            names[language] = archive.namelist()
            data = json.loads(archive.read("data.json"))
            page = archive.read("index.html").decode()
            first = archive.read(names[language][1]).decode("utf-8-sig")
        assert "Player" in data
        assert data["Player"][0]["name"] == "Ines Varga"
        header = next(csv.reader(io.StringIO(first)))
        wanted = {"en-gb": ("Name", "Birth date"), "fr": ("Nom", "Date de naissance")}[language]
        assert set(wanted) <= set(header)
    assert '<html lang="fr">' in page
    assert "Ce que Seasonplan garde sur Ines Varga" in page
    assert names["en-gb"][1] == "01-player.csv"
    assert names["fr"][1] == "01-joueur.csv"


def test_every_column_that_is_handed_out_has_a_name_in_every_language() -> None:
    words = column_words()
    missing = []
    for table in TABLES:
        if not table.heading or not (table.to_player or table.to_person):
            continue
        for column in _columns(table, whole=True):
            is_said = not isinstance(column.verbose_name, str)  # translated where it is declared
            if not is_said and column.verbose_name not in words:
                missing.append(f"{table.model}.{column.name}: {column.verbose_name}")
    assert missing == []


def test_directors_are_told_in_their_own_language(cast: Cast, as_: As) -> None:
    cast.director.language = "es"
    cast.director.save()
    as_(cast.guardian).post(
        f"/players/{cast.ines.pk}/data/erasure/", headers={"Accept-Language": "fr"}
    )
    (message,) = mail.outbox
    assert message.subject == f"Seasonplan: alguien pide a {cast.academy} que le borre"
    assert message.body.startswith("Hola:")


def test_who_is_erased_is_called_so_in_the_language_of_the_academy(cast: Cast) -> None:
    cast.academy.language = "fr"
    cast.academy.save()
    with translation.override("es"):
        erase_player(Player.objects.get(pk=cast.ines.pk), by=cast.director)
    assert Player.objects.get(pk=cast.ines.pk).name == "Un ancien joueur"
