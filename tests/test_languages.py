"""Every text is said in every language, with the same things filled in."""

import re
from collections.abc import Callable

import pytest
from babel.messages.pofile import read_po
from django.test import Client

from tests.conftest import Cast
from tests.words import LANGUAGES, ROOMS, compiled, messages_of, po_of, read

DOMAINS = ("django", "djangojs")
# %(name)s, {name} and HTML tags have to be in a translation as they are in the text.
_FILLED_IN = re.compile(r"%\(\w+\)[sd]|%[sd]|\{\w*\}|</?[a-z]+")


def texts(value: str | tuple[str, ...] | list[str]) -> list[str]:
    return [value] if isinstance(value, str) else list(value)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("domain", DOMAINS)
@pytest.mark.parametrize("room", ROOMS)
def test_every_text_of_a_room_is_translated(room: str, domain: str, language: str) -> None:
    catalog = read(po_of(room, language, domain), language)
    missing = []
    for context, text, file, line in messages_of(room, domain):
        found = catalog.get(texts(text)[0], context)
        if found is None or found.fuzzy or not all(texts(found.string)):
            missing.append(f"{file}:{line}: {texts(text)[0][:80]}")
    assert missing == []


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("domain", DOMAINS)
@pytest.mark.parametrize("room", ROOMS)
def test_a_translation_fills_in_what_its_text_fills_in(
    room: str, domain: str, language: str
) -> None:
    wrong = []
    for message in read(po_of(room, language, domain), language):
        if not message.id:
            continue
        wanted = {frozenset(_FILLED_IN.findall(text)) for text in texts(message.id)}
        wrong += [
            f"{texts(message.id)[0][:60]} -> {text[:60]}"
            for text in texts(message.string)
            if text and frozenset(_FILLED_IN.findall(text)) not in wanted
        ]
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("domain", DOMAINS)
@pytest.mark.parametrize("room", ROOMS)
def test_what_is_compiled_is_what_is_written(room: str, domain: str, language: str) -> None:
    path = po_of(room, language, domain)
    if not path.exists():
        assert not path.with_suffix(".mo").exists()
        return
    with path.open("rb") as lines:
        assert path.with_suffix(".mo").read_bytes() == compiled(read_po(lines, locale=language))


def test_a_page_is_in_the_language_that_its_reader_chose(
    cast: Cast, as_: Callable[..., Client]
) -> None:
    cast.coach.language = "es"
    cast.coach.save()
    client = as_(cast.coach)
    page = client.get("/me/", headers={"Accept-Language": "fr"})
    assert '<html lang="es"' in page.text
    assert page.headers["Content-Language"] == "es"
    client.post("/me/", {"name": "Marta Coach", "language": "fr"})
    assert '<html lang="fr"' in client.get("/me/").text


def test_who_chose_none_is_spoken_to_as_the_browser_asks(
    cast: Cast, as_: Callable[..., Client]
) -> None:
    client = as_(cast.coach)
    for asked, language in (("fr-CH, fr;q=0.9", "fr"), ("de", "en-gb"), ("", "en-gb")):
        page = client.get("/me/", headers={"Accept-Language": asked})
        assert f'<html lang="{language}"' in page.text
        assert "Accept-Language" in page.headers["Vary"]


def test_signed_out_pages_follow_the_browser(client: Client) -> None:
    assert (
        '<html lang="es"' in client.get("/account/login/", headers={"Accept-Language": "es"}).text
    )


def test_scripts_get_their_words_in_the_language_of_the_page(client: Client) -> None:
    page = client.get("/account/login/", headers={"Accept-Language": "fr"}).text
    assert '<script src="/words/fr.js?v=' in page
    assert "gettext" in client.get("/words/fr.js").text
    assert client.get("/words/de.js").status_code == 404
    assert "/words/" not in client.get("/account/login/", headers={"Accept-Language": "en"}).text
