"""The kinds of sessions that come with the program, and how faults in them are named."""

from collections import Counter
from dataclasses import replace

import pytest
from django.utils import translation

from seasonplan.science.layout.problem import PHASES
from seasonplan.science.phases import SHAPES
from seasonplan.science.session_kinds import LIBRARY, KindsError, read_kinds, said, session_name
from seasonplan.science.week_target import EMPHASES, court_word, emphasis_label, emphasis_word

ONE = """
[[kind]]
code = "long-walk"
name = "Long walk"
court = "off court"
emphasis = "endurance"
purpose = "Moving for long without strain."
minutes = 75
shortest_min = 30
longest_min = 150
effort_0_10 = 3
phases = ["active rest"]
"""


def test_the_library_has_enough_kinds_and_every_emphasis() -> None:
    assert len(LIBRARY) >= 40
    assert {kind.emphasis for kind in LIBRARY} == set(EMPHASES)
    assert {kind.court for kind in LIBRARY} == {"on court", "off court"}


@pytest.mark.parametrize("phase", PHASES)
def test_every_emphasis_that_a_phase_usually_trains_has_two_kinds(phase: str) -> None:
    of_phase = Counter(kind.emphasis for kind in LIBRARY if phase in kind.phases)
    wanted = SHAPES[phase].shares  # type: ignore[index]
    assert {emphasis: of_phase[emphasis] >= 2 for emphasis in wanted} == dict.fromkeys(wanted, True)


# Roetert for the USTA 2003: endurance sessions of at least 20 minutes.
def test_endurance_takes_twenty_minutes_or_more() -> None:
    endurance = [kind for kind in LIBRARY if kind.emphasis == "endurance"]
    assert endurance
    assert min(kind.shortest_min for kind in endurance) >= 20


def test_active_rest_has_nothing_on_court() -> None:
    assert {kind.court for kind in LIBRARY if "active rest" in kind.phases} == {"off court"}


def test_every_kind_says_what_it_needs_and_hard_ones_what_to_watch() -> None:
    assert [kind.code for kind in LIBRARY if not kind.equipment] == []
    assert [kind.code for kind in LIBRARY if kind.is_hard and not kind.cautions] == [
        "tie-breaks"  # points, no more than a match has
    ]


def test_what_could_overload_the_young_has_an_age() -> None:
    aged = {kind.code: kind.youngest for kind in LIBRARY if kind.youngest}
    assert aged["whole-body-lifting"] == 15
    assert aged["fast-lifts"] == 16
    assert set(aged.values()) <= set(range(12, 17))


def test_a_kind_is_read_with_what_is_not_said_left_empty() -> None:
    (kind,) = read_kinds(ONE)
    assert (kind.code, kind.minutes, kind.phases) == ("long-walk", 75, ("active rest",))
    assert (kind.equipment, kind.youngest) == ("", None)


def test_no_kinds_are_no_fault() -> None:
    assert read_kinds("") == ()


FAULTS = [
    ('name = "Long walk"', "", "kind “long-walk”: name is missing"),
    ('code = "long-walk"', "", "kind “1”: code is missing"),
    ('code = "long-walk"', 'code = "Long Walk"', "code has small letters"),
    ('name = "Long walk"', 'name = " "', "kind “long-walk”: name and purpose are not empty"),
    ('name = "Long walk"', f'name = "{"x" * 61}"', "name has more than 60 characters"),
    ("minutes = 75", 'minutes = "75"', "minutes cannot be '75'"),
    ("minutes = 75", "minutes = true", "minutes cannot be True"),
    ("minutes = 75", "minutes = 20", "rise in this order"),
    ("longest_min = 150", "longest_min = 601", "rise in this order from 1 to 600"),
    ("shortest_min = 30", "shortest_min = 0", "rise in this order"),
    ("shortest_min = 30", "shortest_min = 15", "endurance session is 20 or more"),
    ("effort_0_10 = 3", "effort_0_10 = 11", "effort_0_10 lies from 0 to 10"),
    ("effort_0_10 = 3", "effort_0_10 = 3.5", "effort_0_10 cannot be 3.5"),
    ('court = "off court"', 'court = "outside"', "court is one of on court, off court"),
    ('emphasis = "endurance"', 'emphasis = "fun"', "emphasis is one of endurance, strength"),
    ('phases = ["active rest"]', "phases = []", "phases are one or more of preparation"),
    ('phases = ["active rest"]', 'phases = ["winter"]', "phases are one or more of"),
    ('phases = ["active rest"]', 'phases = "winter"', "phases cannot be 'winter'"),
    ("minutes = 75", "minutes = 75\nyoungest = 3", "youngest lies from 4 to 25"),
    ("minutes = 75", "minutes = 75\ncolour = 3", "colour is not a field of a session kind"),
    ("minutes = 75", "minutes = ", "the session kinds are not TOML"),
    ("[[kind]]", "[kind]", r"each session kind stands under \[\[kind\]\]"),
]


@pytest.mark.parametrize(("sound", "faulty", "says"), FAULTS)
def test_a_fault_is_named(sound: str, faulty: str, says: str) -> None:
    assert sound in ONE
    with pytest.raises(KindsError, match=says):
        read_kinds(ONE.replace(sound, faulty, 1))


def test_a_code_comes_once() -> None:
    with pytest.raises(KindsError, match="“long-walk” comes twice"):
        read_kinds(ONE + ONE)


def test_in_english_a_kind_is_said_as_it_stands_in_the_file() -> None:
    with translation.override("en-gb"):
        assert tuple(said(kind) for kind in LIBRARY) == LIBRARY


def test_a_kind_is_said_in_the_language_of_the_reader_but_for_what_an_academy_typed() -> None:
    kind = next(kind for kind in LIBRARY if kind.code == "serve-workshop")
    with translation.override("fr"):
        french = said(kind)
        assert (french.name, french.minutes) == ("Atelier de service", kind.minutes)
        assert french.purpose != kind.purpose
        typed = said(replace(kind, name="Our serves", cautions=""))
        assert (typed.name, typed.purpose, typed.cautions) == ("Our serves", french.purpose, "")
        own = replace(kind, code="own-serves")
        assert said(own) is own


def test_a_stored_session_has_the_name_of_its_kind_unless_another_was_typed() -> None:
    with translation.override("es"):
        assert session_name("Serve workshop", "serve-workshop") == "Taller de saque"
        assert session_name("Serves with Ana", "serve-workshop") == "Serves with Ana"
        assert session_name("Serve workshop", "own-serves") == "Serve workshop"
        assert session_name("Serve workshop", "") == "Serve workshop"


@pytest.mark.parametrize("language", ["es", "fr"])
def test_every_emphasis_and_court_has_words(language: str) -> None:
    assert [emphasis_word(emphasis) for emphasis in EMPHASES] == list(EMPHASES)
    assert [emphasis_label(emphasis) for emphasis in EMPHASES] == [
        emphasis.capitalize() for emphasis in EMPHASES
    ]
    assert [court_word("on court"), court_word("off court")] == ["on court", "off court"]
    with translation.override(language):
        words = [emphasis_word(emphasis) for emphasis in EMPHASES]
        assert len(set(words)) == len(EMPHASES)
        assert [word.capitalize() for word in words] == [emphasis_label(e) for e in EMPHASES]
        assert court_word("on court") != court_word("off court")
