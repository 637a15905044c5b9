"""Adding and editing a player: home base found or typed, monthly highs, the team."""

from datetime import date

import pytest

from seasonplan.academy.forms import MonthlyHighsField, PlayerForm
from seasonplan.academy.models import HomeBase, Player
from tests.conftest import Cast
from tests.factories import MembershipFactory

SOUND = {
    "name": "Mia Moor",
    "birth_date": "2012-03-09",
    "place_name": "Granada",
    "country": "es",
    "lat": "37.18",
    "lon": "-3.6",
    "timezone": "Europe/Madrid",
    "elevation_m": "690",
    "surface": "clay",
}
HIGHS = [12, 14, 18, 20, 25, 31, 34, 34, 29, 22, 16, 13]


def highs(values: list[object]) -> dict[str, object]:
    return {f"monthly_high_c_{n}": value for n, value in enumerate(values)}


def test_a_coach_adds_a_player_and_joins_the_team(cast: Cast, as_) -> None:
    answer = as_(cast.coach).post("/players/new/", {**SOUND, **highs(HIGHS)})
    mia = Player.objects.get(name="Mia Moor")
    assert answer.url == f"/players/{mia.pk}/"
    assert (mia.academy, mia.birth_date) == (cast.academy, date(2012, 3, 9))
    assert [m.person for m in mia.team.all()] == [cast.coach]
    base = mia.home_base
    assert (base.place_name, base.country, base.timezone) == ("Granada", "ES", "Europe/Madrid")
    assert (base.lat, base.lon, base.elevation_m, base.surface) == (37.18, -3.6, 690, "clay")
    assert base.monthly_high_c == HIGHS


def test_a_director_adds_a_player_with_a_team_and_does_not_join_it(cast: Cast, as_) -> None:
    team = [cast.academy.memberships.get(person=p).pk for p in (cast.coach, cast.staff)]
    as_(cast.director).post("/players/new/", {**SOUND, "team": team})
    mia = Player.objects.get(name="Mia Moor")
    assert {m.person for m in mia.team.all()} == {cast.coach, cast.staff}


def test_a_coach_does_not_decide_the_team(cast: Cast, as_) -> None:
    team = [cast.academy.memberships.get(person=cast.colleague).pk]
    as_(cast.coach).post("/players/new/", {**SOUND, "team": team})
    assert [m.person for m in Player.objects.get(name="Mia Moor").team.all()] == [cast.coach]


def test_a_director_puts_nobody_of_another_academy_on_the_team(cast: Cast, as_) -> None:
    foreign = cast.foreign_academy.memberships.get(person=cast.foreign_coach)
    answer = as_(cast.director).post("/players/new/", {**SOUND, "team": [foreign.pk]})
    assert answer.status_code == 422
    assert not Player.objects.filter(name="Mia Moor").exists()


def test_the_academy_of_the_address_gets_the_player(cast: Cast, as_) -> None:
    MembershipFactory(academy=cast.foreign_academy, person=cast.coach, role="coach")
    as_(cast.coach).post(f"/players/new/?academy={cast.academy.pk}", SOUND)
    assert Player.objects.get(name="Mia Moor").academy == cast.academy


def test_who_plans_in_one_of_two_academies_adds_players_there(cast: Cast, as_) -> None:
    MembershipFactory(academy=cast.foreign_academy, person=cast.coach, role="guardian")
    client = as_(cast.coach)
    assert client.post("/players/new/", SOUND).status_code == 302
    assert Player.objects.get(name="Mia Moor").academy == cast.academy
    elsewhere = client.post(f"/players/new/?academy={cast.foreign_academy.pk}", SOUND)
    assert elsewhere.status_code == 403


def test_a_coach_edits_a_player_and_the_team_stays(cast: Cast, as_) -> None:
    before = set(cast.ines.team.all())
    as_(cast.coach).post(f"/players/{cast.ines.pk}/edit/", {**SOUND, "name": "Ines V."})
    ines = Player.objects.get(pk=cast.ines.pk)
    assert (ines.name, ines.home_base.place_name) == ("Ines V.", "Granada")
    assert set(ines.team.all()) == before
    assert HomeBase.objects.filter(player=ines).count() == 1


def test_a_director_changes_the_team(cast: Cast, as_) -> None:
    team = [cast.academy.memberships.get(person=cast.colleague).pk]
    as_(cast.director).post(f"/players/{cast.ines.pk}/edit/", {**SOUND, "team": team})
    assert [m.person for m in cast.ines.team.all()] == [cast.colleague]


def test_a_player_without_a_home_base_gets_one(cast: Cast, as_) -> None:
    HomeBase.objects.filter(player=cast.ines).delete()
    client = as_(cast.coach)
    assert client.get(f"/players/{cast.ines.pk}/edit/").status_code == 200
    client.post(f"/players/{cast.ines.pk}/edit/", SOUND)
    assert HomeBase.objects.get(player=cast.ines).place_name == "Granada"


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"name": " "}, "This field is required."),
        ({"birth_date": "2999-01-01"}, "This day has not come yet."),
        ({"birth_date": "1899-01-01"}, "more than a hundred years ago"),
        ({"lat": "91"}, "less than or equal to 90"),
        ({"lon": "-181"}, "greater than or equal to -180"),
        ({"timezone": "Madrid"}, "is not a time zone name"),
        ({"country": "Narnia"}, "This country is not known"),
        ({"elevation_m": "9000"}, "less than or equal to 6000"),
        ({"surface": "sand"}, "Select a valid choice"),
        ({"lat": "nan"}, "Enter a number."),
    ],
)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(
    cast: Cast, as_, wrong: dict[str, str], said: str
) -> None:
    answer = as_(cast.coach).post("/players/new/", {**SOUND, **highs(HIGHS), **wrong})
    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="Europe/Madrid"' in answer.text or "timezone" in wrong
    assert 'value="34"' in answer.text
    assert not Player.objects.filter(name="Mia Moor").exists()


@pytest.mark.parametrize("country", ["Spain", "esp", "ES", "es"])
def test_a_country_may_be_typed_as_one_likes(cast: Cast, as_, country: str) -> None:
    as_(cast.coach).post("/players/new/", {**SOUND, "country": country})
    assert Player.objects.get(name="Mia Moor").home_base.country == "ES"


# Monthly highs -------------------------------------------------------------------------------


def test_no_monthly_highs_are_none(cast: Cast, as_) -> None:
    as_(cast.coach).post("/players/new/", {**SOUND, **highs([""] * 12)})
    assert Player.objects.get(name="Mia Moor").home_base.monthly_high_c is None


def test_eleven_monthly_highs_are_asked_for_the_twelfth(cast: Cast, as_) -> None:
    answer = as_(cast.coach).post("/players/new/", {**SOUND, **highs([*HIGHS[:11], ""])})
    assert answer.status_code == 422
    assert "Give all twelve months or none; missing: December." in answer.text


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("warm", "February: give a number."),
        ("61", "February: not above 60 °C."),
        ("-61", "February: not below -60 °C."),
    ],
)
def test_a_wrong_month_is_named(cast: Cast, as_, value: str, said: str) -> None:
    typed = [HIGHS[0], value, *HIGHS[2:]]
    answer = as_(cast.coach).post("/players/new/", {**SOUND, **highs(typed)})
    assert answer.status_code == 422
    assert said in answer.text


def test_kept_highs_come_back_without_needless_decimals() -> None:
    assert MonthlyHighsField().prepare_value([16.0, 17.5, 19]) == ["16", "17.5", 19]


# Finding the place ---------------------------------------------------------------------------


def test_finding_lists_places_keeps_nothing_and_loses_nothing(cast: Cast, as_) -> None:
    typed = {"name": "Mia Moor", "birth_date": "2012-03-09", "q": "VLC", **highs([1] * 12)}
    answer = as_(cast.coach).post("/players/new/", {**typed, "find": "1"})
    assert answer.status_code == 200
    assert 'name="airport" value="VLC"' in answer.text
    assert 'value="Mia Moor"' in answer.text and 'value="2012-03-09"' in answer.text
    assert 'value="VLC"' in answer.text
    assert 'class="wrong"' not in answer.text
    assert not Player.objects.filter(name="Mia Moor").exists()


def test_a_chosen_place_fills_the_fields_and_keeps_nothing(cast: Cast, as_) -> None:
    typed = {"name": "Mia Moor", "q": "valencia", "airport": "VLC"}
    answer = as_(cast.coach).post("/players/new/", typed)
    assert answer.status_code == 200
    for shown in ('value="Valencia"', 'value="ES"', 'value="Europe/Madrid"', 'value="Mia Moor"'):
        assert shown in answer.text
    assert not Player.objects.filter(name="Mia Moor").exists()


def test_a_place_can_be_found_chosen_and_kept_without_javascript(cast: Cast, as_) -> None:
    client = as_(cast.coach)
    page = client.post("/players/new/", {"name": "Mia Moor", "airport": "VLC"})
    home = page.context["home"]
    filled = {name: home[name].value() for name in home.PLACE_FIELDS}
    client.post("/players/new/", {"name": "Mia Moor", "surface": "clay", **filled})
    base = Player.objects.get(name="Mia Moor").home_base
    assert (base.place_name, base.country, base.timezone) == ("Valencia", "ES", "Europe/Madrid")
    # The airport of Valencia lies at 39°29' N, 0°29' W (from memory).
    assert (round(base.lat, 1), round(base.lon, 1)) == (39.5, -0.5)


def test_saving_with_a_typed_name_and_no_place_lists_the_places(cast: Cast, as_) -> None:
    answer = as_(cast.coach).post("/players/new/", {"name": "Mia Moor", "q": "valencia"})
    assert answer.status_code == 422
    assert 'name="airport" value="VLC"' in answer.text
    assert "Choose the place where the player lives and trains" in answer.text


def test_a_place_nobody_knows_is_said(cast: Cast, as_) -> None:
    answer = as_(cast.coach).post("/players/new/", {"q": "xqzzy", "find": "1"})
    assert "No city or airport of that name is known here" in answer.text


def test_an_airport_nobody_knows_changes_nothing(cast: Cast, as_) -> None:
    answer = as_(cast.coach).post("/players/new/", {**SOUND, "airport": "???"})
    assert answer.status_code == 200
    assert 'value="Granada"' in answer.text


def test_htmx_gets_the_home_base_alone(cast: Cast, as_) -> None:
    answer = as_(cast.coach).post(
        "/players/new/", {"q": "valencia", "find": "1"}, headers={"HX-Request": "true"}
    )
    assert answer.text.lstrip().startswith('<fieldset class="stack" id="home-base">')
    assert "<html" not in answer.text and 'value="VLC"' in answer.text


def test_the_birth_date_may_be_today(cast: Cast) -> None:
    today = date(2027, 2, 3)
    form = PlayerForm(
        {"name": "Newborn", "birth_date": "2027-02-03"},
        instance=Player(academy=cast.academy),
        today=today,
        directs=False,
    )
    assert form.is_valid()
