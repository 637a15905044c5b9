"""Taking one's data along, asking to be erased, and erasing, as people meet it."""

import csv
import io
import json
import re
import zipfile
from collections.abc import Callable
from datetime import date

import pytest
from django.core import mail
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext

from seasonplan.academy.models import Change, Person, Player
from seasonplan.upkeep.access import spoken_for
from seasonplan.upkeep.models import ErasureRequest
from seasonplan.upkeep.registry import TABLES
from tests.conftest import Cast
from tests.factories import PASSWORD, DayLogFactory, MembershipFactory, PlayerFactory, sign_up
from tests.plans.pages import read
from tests.upkeep.everything import ODD, fill_every_table

As = Callable[..., Client]


@pytest.fixture
def trusted(as_: As) -> Callable[[Person], Client]:
    """A client of somebody who has just given their password again."""

    def sign_in(person: Person) -> Client:
        sign_up(person)
        client = as_(person)
        answer = client.post("/account/again/", {"password": PASSWORD})
        assert answer.status_code == 302
        return client

    return sign_in


def unpacked(answer: HttpResponse) -> dict[str, str]:
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/zip"
    assert re.fullmatch(r'attachment; filename="[a-z0-9-]+\.zip"', answer["Content-Disposition"])
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name).decode("utf-8-sig") for name in archive.namelist()}


def table(files: dict[str, str], heading: str) -> list[dict[str, str]]:
    """The CSV file of a table, a mapping a row."""
    slug = re.sub(r"[^a-z]+", "-", heading.lower())
    (name,) = [name for name in files if re.fullmatch(rf"\d\d-{slug}\.csv", name)]
    return list(csv.DictReader(io.StringIO(files[name], newline="")))


# Taking along --------------------------------------------------------------------------------


def test_a_player_takes_everything_along_that_is_about_them(
    cast: Cast, trusted: Callable[[Person], Client]
) -> None:
    fill_every_table(cast)
    files = unpacked(trusted(cast.player).post("/me/data/file/"))
    data = json.loads(files["data.json"])
    wanted = {t.heading for t in TABLES if t.heading and (t.to_player or t.to_person)}
    others = {"Logs opened", "Saved views"}  # which the player has not done here
    assert set(data) == wanted - others
    assert len(files) == len(data) + 2

    assert table(files, "Log-in")[0]["Email"] == cast.player.email
    assert table(files, "Player")[0]["Birth date"] == "2011-05-17"
    check_in = table(files, "Check-ins of events")[0]
    assert (check_in["Energy before"], check_in["Private note"]) == ("7", "Secret of Ines")
    assert check_in["Went well"] == ODD
    assert data["Check-ins of events"][0]["energy_before_written_at"] == "2027-01-18 18:30:15+00:00"
    assert table(files, "Matches")[0]["Won"] == "yes"
    assert table(files, "Replies")[0]["Author"] == "Marta Coach"
    page = read(HttpResponse(files["index.html"]))
    assert "What Seasonplan keeps about Ines Player" in page.text
    assert "Secret of Ines" in page.text
    assert {f"#table-{n + 1}" for n in range(len(data))} <= set(page.links().values())


def test_no_secret_and_nobody_else_is_in_the_file(
    cast: Cast, trusted: Callable[[Person], Client]
) -> None:
    fill_every_table(cast)
    DayLogFactory(player=cast.ravi, note="Ravi alone")
    client = trusted(cast.player)
    cast.player.refresh_from_db()
    said = "".join(unpacked(client.post("/me/data/file/")).values())
    secrets = (
        cast.player.password,
        "GEZDGNBV",
        "secret-of-the-link",
        cast.player.feed_address.token_hash,
        client.session.session_key,
        *cast.academy.invitations.values_list("token_hash", flat=True),
        "Ravi",
    )
    assert [secret for secret in secrets if secret in said] == []


def test_no_words_turn_into_a_formula_and_none_into_markup(
    cast: Cast, trusted: Callable[[Person], Client]
) -> None:
    DayLogFactory(
        player=cast.ines, note='=HYPERLINK("http://x")', private_note="<script>x</script>"
    )
    files = unpacked(trusted(cast.player).post("/me/data/file/"))
    assert table(files, "Days")[0]["Note"] == '\'=HYPERLINK("http://x")'
    assert "<script>" not in files["index.html"]
    assert "&lt;script&gt;" in files["index.html"]


PRIVATE = ("Ines slept", "Ines cried", "Secret of Ines", "Rest well", "am glad", "smiled", ODD)


@pytest.mark.parametrize("who", ["guardian", "director"])
def test_others_are_handed_no_more_than_they_may_read(
    cast: Cast, trusted: Callable[[Person], Client], who: str
) -> None:
    fill_every_table(cast)
    client = trusted(getattr(cast, who))
    page = read(client.get(f"/players/{cast.ines.pk}/data/"))
    assert "Left out is what Ines Varga alone reads" in page.text
    files = unpacked(client.post(f"/players/{cast.ines.pk}/data/file/"))
    said = "".join(files.values())
    assert [words for words in PRIVATE if words in said] == []
    assert "Left out" in files["index.html"]
    assert table(files, "Check-ins of events")[0]["Rounds won"] == "2"
    assert table(files, "Seasons")[0]["Name"] == "Year of Ines"
    assert "Energy after" not in table(files, "Check-ins of events")[0]
    change = Change.objects.get(after="Taken along")
    assert (change.who, change.player) == (getattr(cast, who), cast.ines)


def test_the_guardian_of_a_minor_without_a_log_in_takes_all_along(
    cast: Cast, trusted: Callable[[Person], Client]
) -> None:
    fill_every_table(cast)
    Player.objects.filter(pk=cast.ines.pk).update(person=None)
    answer = trusted(cast.guardian).post(f"/players/{cast.ines.pk}/data/file/")
    said = "".join(unpacked(answer).values())
    assert "Ines slept" in said
    answer = trusted(cast.director).post(f"/players/{cast.ines.pk}/data/file/")
    assert "Ines slept" not in "".join(unpacked(answer).values())


def test_a_guardian_speaks_for_a_minor_only(cast: Cast, as_: As) -> None:
    guardian, path = as_(cast.guardian), f"/players/{cast.ines.pk}/data/"
    assert guardian.get(path).status_code == 200
    assert "Data of Ines Varga" in read(guardian.get("/me/data/")).links()
    cast.ines.birth_date = date(2001, 1, 1)
    cast.ines.save()
    assert guardian.get(path).status_code == 403
    assert "Data of Ines Varga" not in read(guardian.get("/me/data/")).links()


@pytest.mark.parametrize(
    ("born", "today"),
    [
        (date(2009, 6, 15), date(2027, 6, 14)),
        (date(2009, 6, 15), date(2027, 6, 15)),
        (date(2010, 1, 30), date(2028, 1, 31)),
        (date(2008, 2, 29), date(2026, 2, 28)),
        (date(2008, 2, 29), date(2026, 3, 1)),
        (date(2010, 2, 28), date(2028, 2, 29)),
        (date(2010, 3, 1), date(2028, 2, 29)),
    ],
)
def test_the_day_on_which_a_guardian_ceases_to_speak_is_the_birthday(
    cast: Cast, born: date, today: date
) -> None:
    cast.ines.birth_date = born
    cast.ines.save()
    age = cast.ines.age_on(today)
    assert age is not None
    assert spoken_for(cast.guardian, today=today).exists() == (age < 18)


@pytest.mark.parametrize("path", ["/me/data/", "/players/{}/data/"])
def test_the_file_comes_only_after_the_password(cast: Cast, as_: As, path: str) -> None:
    sign_up(cast.player)
    player, path = as_(cast.player), path.format(cast.ines.pk)
    asked = player.post(f"{path}file/")
    assert asked.status_code == 302
    assert asked["Location"].startswith("/account/again/")

    page = read(player.get(path))
    assert page.buttons().count("Give your password") == 1
    assert not [button for button in page.buttons() if button.startswith("Download")]
    again = player.post(path)
    wrong = player.post(again["Location"], {"password": "wrong", "next": path})
    assert wrong.status_code == 422
    right = player.post(again["Location"], {"password": PASSWORD, "next": path})
    assert (right.status_code, right["Location"]) == (302, path)
    assert [b for b in read(player.get(path)).buttons() if b.startswith("Download")]
    assert player.post(f"{path}file/")["Content-Type"] == "application/zip"


def test_as_many_queries_for_much_data_as_for_little(
    cast: Cast, trusted: Callable[[Person], Client]
) -> None:
    fill_every_table(cast)
    player = trusted(cast.player)

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            unpacked(player.post("/me/data/file/"))
        return len(asked)

    few = queries()
    for day in range(1, 28):
        DayLogFactory(player=cast.ines, day=date(2026, 2, day))
    assert queries() == few
    for path in ("/me/data/", f"/players/{cast.ines.pk}/data/"):
        with CaptureQueriesContext(connection) as asked:
            player.get(path)
        assert len(asked) <= 15


# Asking to be erased -------------------------------------------------------------------------


def test_a_guardian_asks_and_the_directors_hear_of_it_by_a_mail_that_names_nobody(
    cast: Cast, as_: As
) -> None:
    guardian, path = as_(cast.guardian), f"/players/{cast.ines.pk}/data/"
    for _ in range(2):
        guardian.post(f"{path}erasure/")
    assert [(m.to, "Ines" in m.body) for m in mail.outbox] == [([cast.director.email], False)]
    assert f"/people/erasures/?academy={cast.academy.pk}" in mail.outbox[0].body
    assert "Gita Guardian asked for it on" in read(as_(cast.player).get(path)).text
    page = read(as_(cast.director).get("/people/erasures/"))
    assert "Ines Varga" in page.one("tbody").text
    guardian.post(f"{path}erasure/", {"do": "take-back"})
    assert "Nobody asks at present" in read(as_(cast.director).get("/people/erasures/")).text


def test_anybody_asks_for_themselves_and_takes_it_back(cast: Cast, as_: As) -> None:
    coach = as_(cast.coach)
    academy = {"academy": cast.academy.pk}
    coach.post("/me/data/erasure/", academy)
    request = ErasureRequest.objects.get()
    assert (request.person, request.asked_by) == (cast.coach, cast.coach)
    page = read(as_(cast.director).get("/people/erasures/"))
    member = cast.academy.memberships.get(person=cast.coach)
    assert f"/people/members/{member.pk}/erase/" in page.links().values()
    assert "Take that back" in str(read(coach.get("/me/data/")).buttons())
    coach.post("/me/data/erasure/", {**academy, "do": "take-back"})
    assert not ErasureRequest.objects.exists()
    elsewhere = {"academy": cast.foreign_academy.pk}
    assert coach.post("/me/data/erasure/", elsewhere).status_code == 404


# Erasing -------------------------------------------------------------------------------------


def test_a_director_erases_a_player_after_the_name_and_the_password(cast: Cast, as_: As) -> None:
    fill_every_table(cast)
    sign_up(cast.director)
    director, path = as_(cast.director), f"/players/{cast.ines.pk}/erase/"
    page = read(director.get(path))
    for words in ("What goes", "What stays", "Days", "Check-ins of events", cast.player.email):
        assert words in page.text
    wrong = director.post(path, {"name": "Ravi Player"})
    assert "This is another name" in read(wrong, 422).text
    assert Player.objects.filter(name="Ines Varga").exists()

    asked = director.post(path, {"name": "ines  varga"})
    assert asked["Location"].startswith("/account/again/")
    assert Player.objects.filter(name="Ines Varga").exists()
    done = director.post(asked["Location"], {"password": PASSWORD, "next": path})
    assert (done.status_code, done["Location"]) == (302, f"/people/?academy={cast.academy.pk}")
    assert not Player.objects.filter(name="Ines Varga").exists()
    page = read(director.get("/people/"))
    assert "A former player" in page.text
    assert "Erased." in page.text
    assert "A former player" in read(director.get("/people/record/")).text
    # The pages of who was erased still stand.
    for what in ("", "data/", "edit/"):
        assert director.get(f"/players/{cast.ines.pk}/{what}").status_code == 200


def test_a_director_erases_a_member(cast: Cast, trusted: Callable[[Person], Client]) -> None:
    director = trusted(cast.director)
    member = cast.academy.memberships.get(person=cast.coach)
    path = f"/people/members/{member.pk}/erase/"
    assert path in read(director.get(f"/people/members/{member.pk}/")).links().values()
    assert director.post(path, {"name": "Marta Coach"}).status_code == 302
    assert not Person.objects.filter(pk=cast.coach.pk).exists()


def test_the_last_director_stays_and_one_of_two_can_go(
    cast: Cast, trusted: Callable[[Person], Client]
) -> None:
    director = trusted(cast.director)
    member = cast.academy.memberships.get(person=cast.director)
    path, form = f"/people/members/{member.pk}/erase/", {"name": "Dora Director"}
    assert "is the last director" in read(director.post(path, form), 409).text
    MembershipFactory(academy=cast.academy, role="director")
    answer = director.post(path, form)
    assert (answer.status_code, answer["Location"]) == (302, "/account/login/")
    assert director.get("/people/").status_code == 302
    assert not Person.objects.filter(pk=cast.director.pk).exists()


def test_a_director_of_another_academy_erases_nobody_here(
    cast: Cast, trusted: Callable[[Person], Client]
) -> None:
    foreign = trusted(cast.foreign_director)
    assert foreign.post(f"/players/{cast.ines.pk}/erase/", {"name": "x"}).status_code == 404
    theirs = PlayerFactory(academy=cast.foreign_academy, person=cast.player, name="Ines F.")
    assert foreign.post(f"/players/{theirs.pk}/erase/", {"name": "Ines F."}).status_code == 302
    assert Player.objects.filter(name="Ines Varga", person=cast.player).exists()


def test_erasure_pages_ask_as_much_for_many_as_for_few(cast: Cast, as_: As) -> None:
    director = as_(cast.director)

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert director.get("/people/erasures/").status_code == 200
        return len(asked)

    def ask(count: int) -> None:
        for player in PlayerFactory.create_batch(count, academy=cast.academy):
            ErasureRequest.objects.create(
                academy=cast.academy, player=player, asked_at="2027-01-01T00:00Z"
            )

    ask(5)
    few = queries()
    ask(50)
    assert queries() == few <= 12
