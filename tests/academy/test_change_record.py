"""Who changed what is written down with the change, and directors read it."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from seasonplan.academy import belonging, inviting
from seasonplan.academy.consent import give_consent, withdraw_consent
from seasonplan.academy.models import Change, HomeBase, Membership, Person, Player, Role
from seasonplan.academy.recording import record
from seasonplan.plans.models import SeasonPlan
from seasonplan.plans.standing import delete_plan, put_in_force
from seasonplan.training.setting_shapes import give_off_court
from tests.conftest import Cast
from tests.factories import PASSWORD, BlockFactory, PersonFactory, SeasonPlanFactory
from tests.plans.pages import read

As = Callable[..., Client]

PATH = "/people/record/"
NOW = datetime(2027, 1, 18, 18, 30, tzinfo=UTC)


def membership(cast: Cast, person: Person) -> Membership:
    return cast.academy.memberships.select_related("person").get(person=person)


def told() -> list[tuple[str, Person | None, Player | None, Person | None, str, str, str]]:
    """What the record says, the oldest first."""
    rows = Change.objects.order_by("pk").select_related("who", "player", "person")
    return [(c.what, c.who, c.player, c.person, c.subject, c.before, c.after) for c in rows]


def test_a_role_that_is_changed_and_one_that_ends(cast: Cast) -> None:
    belonging.change_role(membership(cast, cast.coach), Role.DIRECTOR, by=cast.director)
    belonging.remove_member(membership(cast, cast.staff), by=cast.director)
    assert told() == [
        ("team", cast.director, cast.ines, cast.coach, "", "Coach", ""),
        ("role", cast.director, None, cast.coach, "", "Coach", "Director"),
        ("team", cast.director, cast.ines, cast.staff, "", "Support staff", ""),
        ("role", cast.director, None, cast.staff, "", "Support staff", ""),
    ]


def test_whoever_joins_by_an_invitation(cast: Cast) -> None:
    invitation, _ = inviting.invite(
        academy=cast.academy, email="new@nowhere.test", role="coach", player=cast.ines,
        invited_by=cast.director,
    )  # fmt: skip
    person = inviting.accept_as_new(
        invitation, name="Nora New", password=PASSWORD, now=timezone.now()
    )
    assert told() == [
        ("role", cast.director, None, person, "by invitation", "", "Coach"),
        ("team", cast.director, cast.ines, person, "", "", "Coach"),
    ]


def test_teams_by_every_way_they_change(cast: Cast) -> None:
    coach, colleague = membership(cast, cast.coach), membership(cast, cast.colleague)
    belonging.set_players(colleague, [cast.ravi, cast.ines], by=cast.director)
    belonging.hand_over(coach, colleague, [cast.ines], by=cast.director)
    belonging.change_player(
        player=cast.ravi, home_base=cast.ravi.home_base, team=[coach], by=cast.director
    )
    assert told() == [
        ("team", cast.director, cast.ines, cast.colleague, "", "", "Coach"),
        ("team", cast.director, cast.ines, cast.coach, "", "Coach", ""),
        ("team", cast.director, cast.ravi, cast.colleague, "", "Coach", ""),
        ("team", cast.director, cast.ravi, cast.coach, "", "", "Coach"),
    ]
    belonging.set_players(colleague, [cast.ines], by=cast.director)
    assert len(told()) == 4  # the same again is no change


def test_a_new_player_and_who_works_with_them_from_the_start(cast: Cast) -> None:
    home = HomeBase(place_name="Turin", lat=45, lon=7.7, timezone="Europe/Rome")
    player = belonging.add_player(
        player=Player(academy=cast.academy, name="New Player"),
        home_base=home,
        team=None,
        added_by=cast.coach,
    )
    assert told() == [
        ("player", cast.coach, player, None, "", "", "Added"),
        ("team", cast.coach, player, cast.coach, "", "", "Coach"),
    ]


def test_consent_given_twice_and_taken_back(cast: Cast) -> None:
    for _ in range(2):
        give_consent(cast.ines, by=cast.guardian, now=NOW)
    for _ in range(2):
        withdraw_consent(cast.ines, by=cast.guardian, now=NOW)
    assert told() == [
        ("consent", cast.guardian, cast.ines, None, "Health logs", "", "Consent"),
        ("consent", cast.guardian, cast.ines, None, "Health logs", "Consent", "Taken back"),
    ]


def test_every_setting_of_the_academy(cast: Cast, as_: As) -> None:
    director = as_(cast.director)
    usual = {"language": "fr", "health": "1", "notes": "0"}
    asked = {**usual, "consent_age": "15", "health_log_months": "24"}
    director.post("/people/settings/", asked)
    director.post("/people/settings/", asked)
    contact = {"name": "Wilma Ear", "email": "wilma@academy.test"}
    director.post("/people/settings/", {**asked, **contact})
    director.post("/people/settings/", {**asked, **contact, "name": "Willi Ear"})
    director.post("/people/settings/", {**asked, "health_log_months": ""})
    assert [(c[1], *c[4:]) for c in told()] == [
        (cast.director, "Language", "English", "Français"),
        (cast.director, "Age of consent", "16 years", "15 years"),
        (cast.director, "Health logs are kept", "without end", "24 months"),
        (cast.director, "Required to share: health", "Nothing", "The player’s coaches"),
        (cast.director, "Somebody to talk to", "None", "Set"),
        (cast.director, "Somebody to talk to", "Set", "Changed"),
        (cast.director, "Health logs are kept", "24 months", "without end"),
        (cast.director, "Somebody to talk to", "Set", "None"),
    ]
    assert "Ear" not in str(told())


def test_a_plan_put_in_force_and_one_deleted(cast: Cast) -> None:
    first, second = (SeasonPlanFactory(player=cast.ines, name=name) for name in ("First", "Second"))
    for plan in (first, second):
        BlockFactory(plan=plan)
        put_in_force(plan, now=NOW, by=cast.coach)
    delete_plan(SeasonPlanFactory(player=cast.ines, name="Third"), by=cast.coach)
    assert [c[3:] for c in told()] == [
        (None, "First", "Working copy", "In force"),
        (None, "Second", "Working copy", "In force"),
        (None, "First", "In force", "Replaced"),
        (None, "Third", "Working copy", "Deleted"),
    ]
    assert list(Change.objects.order_by("pk").values_list("path", flat=True)) == [
        reverse("plan-history", args=[first.pk]),
        reverse("plan-history", args=[second.pk]),
        reverse("plan-history", args=[first.pk]),
        "",
    ]


def test_the_button_that_deletes_a_copy_is_recorded_too(cast: Cast, as_: As) -> None:
    copy = SeasonPlanFactory(player=cast.ines, name="Third")
    as_(cast.coach).post(f"/plans/{copy.pk}/delete/")
    assert not SeasonPlan.objects.exists()
    assert [c[1] for c in told()] == [cast.coach]


def test_the_part_off_court_given_to_the_staff(cast: Cast) -> None:
    give_off_court(cast.ines, to_staff=True, revision=0, by=cast.coach)
    give_off_court(cast.ines, to_staff=True, revision=1, by=cast.coach)
    assert told() == [
        (
            "training", cast.coach, cast.ines, None, "Part off court",
            "Planned by the coach", "Planned by support staff",
        )
    ]  # fmt: skip


@pytest.mark.django_db(transaction=True)
def test_a_change_that_fails_leaves_no_record_and_no_record_stands_alone(cast: Cast) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        give_consent(cast.ines, by=cast.guardian, now=NOW)
        Membership.objects.create(academy=cast.academy, person=cast.coach, role="king")
    assert not Change.objects.exists()
    assert not cast.ines.consents.exists()
    with pytest.raises(RuntimeError, match="in the transaction"):
        record(cast.academy, Change.What.ROLE, by=None, after="Coach")


# The page ------------------------------------------------------------------------------------


def many(cast: Cast, count: int) -> None:
    Change.objects.bulk_create(
        Change(
            academy=cast.academy, at=NOW + timedelta(minutes=n), who=cast.director, what="role",
            person=PersonFactory(name=f"Person no {n}"), after="Coach",
        )
        for n in range(count)
    )  # fmt: skip


def test_the_page_shows_the_newest_first_in_pages_of_fifty(cast: Cast, as_: As) -> None:
    many(cast, 101)
    director = as_(cast.director)
    page = read(director.get(PATH))
    assert "101 changes, page 1 of 3" in page.text
    rows = [row.text for row in page.one("tbody").all("tr")]
    assert len(rows) == 50
    assert "Person no 100" in rows[0]
    assert "Person no 51" in rows[-1]
    older = page.links()["Older changes"]
    page = read(director.get(PATH + older))
    assert "Person no 50" in page.one("tbody").all("tr")[0].text
    assert {"Newer changes", "Older changes"} <= set(page.links())
    assert "page 3 of 3" in read(director.get(f"{PATH}?page=999")).text
    assert "page 1 of 3" in read(director.get(f"{PATH}?page=x")).text


def test_the_page_narrows_by_kind_and_by_name(cast: Cast, as_: As) -> None:
    many(cast, 3)
    give_consent(cast.ines, by=cast.guardian, now=NOW)
    director = as_(cast.director)
    page = read(director.get(f"{PATH}?what=consent"))
    assert "1 change" in page.text
    assert "Gita Guardian" in page.one("tbody").text
    assert "Ines Varga" in page.one("tbody").text
    page = read(director.get(f"{PATH}?q=no+2"))
    assert [row.text for row in page.one("tbody").all("tr")] != []
    assert "Person no 2" in page.one("tbody").text
    assert "Person no 1" not in page.one("tbody").text
    page = read(director.get(f"{PATH}?what=plan"))
    assert "Nothing fits" in page.text
    assert "Show everything" in page.links()
    for odd in ("?what=nonsense", f"?q={'x' * 500}", "?page=-1"):
        assert director.get(PATH + odd).status_code == 200


def test_a_record_is_of_one_academy_and_survives_whoever_stands_in_it(cast: Cast, as_: As) -> None:
    many(cast, 1)
    assert "Nothing changed yet" in read(as_(cast.foreign_director).get(PATH)).text
    assert as_(cast.foreign_director).get(f"{PATH}?academy={cast.academy.pk}").status_code == 404
    Person.objects.filter(name="Person no 0").delete()
    assert "1 change" in read(as_(cast.director).get(PATH)).text


def test_directors_come_from_the_page_of_people(cast: Cast, as_: As) -> None:
    assert read(as_(cast.director).get("/people/")).links()["Change record"].startswith(PATH)
    assert "Change record" not in read(as_(cast.coach).get("/people/")).links()


def test_as_many_queries_for_few_changes_as_for_many(cast: Cast, as_: As) -> None:
    director = as_(cast.director)

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert director.get(PATH).status_code == 200
        return len(asked)

    many(cast, 5)
    few = queries()
    many(cast, 50)
    assert queries() == few <= 12
