"""What messages about one event, day or session say together."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonplan.checkins.outbox import Said, fold

NOON = datetime(2026, 1, 18, 12, 0, tzinfo=UTC)


def said(minute: int, kind: str, key: int = 0, **body: Any) -> Said:
    return Said(NOON + timedelta(minutes=minute), UUID(int=key or minute + 1), kind, body)


def test_the_later_word_wins_field_by_field() -> None:
    state = fold([said(0, "day", sleep=2, mood=3), said(1, "day", sleep=4)])
    assert state == {"sleep": 4, "mood": 3}


def test_a_later_word_can_take_an_answer_back() -> None:
    assert fold([said(0, "day", note="Tired"), said(1, "day", note="")]) == {"note": ""}


def test_of_two_words_at_the_same_moment_the_greater_key_wins() -> None:
    one, other = said(0, "day", key=1, mood=1), said(0, "day", key=2, mood=2)
    assert fold([one, other]) == fold([other, one]) == {"mood": 2}


def test_energy_said_before_the_first_match_is_not_late() -> None:
    state = fold([said(0, "arrival", energy_before=7), said(9, "event", energy_after=4)])
    assert state == {
        "energy_before": 7,
        "energy_before_late": False,
        "energy_before_written_at": NOON,
        "energy_after": 4,
    }


def test_energy_said_with_the_result_is_late() -> None:
    state = fold([said(9, "event", energy_after=4, energy_before=8)])
    assert (state["energy_before"], state["energy_before_late"]) == (8, True)


def test_energy_said_before_is_not_overwritten_when_the_result_is_known() -> None:
    before = said(0, "arrival", energy_before=7)
    for later in (
        said(9, "event", energy_after=4, energy_before=2),
        said(9, "event", energy_after=4, energy_before=None),
    ):
        state = fold([later, before])
        assert (state["energy_before"], state["energy_before_late"]) == (7, False)


def test_an_arrival_written_after_the_check_in_is_late() -> None:
    state = fold([said(9, "arrival", energy_before=7), said(3, "event", energy_after=4)])
    assert (state["energy_before"], state["energy_before_late"]) == (7, True)


def test_a_slip_before_the_first_match_can_be_put_right() -> None:
    state = fold([said(0, "arrival", energy_before=1), said(1, "arrival", energy_before=8)])
    assert (state["energy_before"], state["energy_before_late"]) == (8, False)


plain = st.dictionaries(
    st.sampled_from(["energy_after", "soreness", "felt", "went_well"]), st.integers(0, 9)
)
energy = st.fixed_dictionaries({"energy_before": st.none() | st.integers(0, 10)})
messages = st.lists(
    st.tuples(st.integers(0, 3), st.just("event"), plain)
    | st.tuples(st.integers(0, 3), st.sampled_from(["arrival", "event"]), energy),
    max_size=7,
).map(
    lambda sent: [
        said(minute, kind, key=number, **body)
        for number, (minute, kind, body) in enumerate(sent, start=1)
    ]
)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), messages)
def test_neither_order_nor_repetition_changes_the_state(data: st.DataObject, sent: Any) -> None:
    again = data.draw(st.lists(st.sampled_from(sent), max_size=4)) if sent else []
    arrived = data.draw(st.permutations([*sent, *again]))
    assert fold(arrived) == fold(sent)
