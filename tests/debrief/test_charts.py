"""Where the marks of the charts stand."""

from hypothesis import given, settings
from hypothesis import strategies as st

from seasonplan.debrief.charts import SHAPES, Axis, Point, effect_bar, scatter, squares
from seasonplan.science.association import Interval, Line, robust_line

X = Axis("Energy", -0.5, 10.5, ((0, "0"), (10, "10")))
Y = Axis("Result", -0.08, 1.08, ((0, "0 %"), (1, "100 %")))


def points(*places: tuple[float, float], groups: str = "") -> list[Point]:
    return [
        Point(number, x, y, groups[number - 1] if groups else "clay", f"event {number}")
        for number, (x, y) in enumerate(places, start=1)
    ]


def test_more_energy_stands_further_right_and_a_better_result_higher_up() -> None:
    low, high = scatter(points((2, 0.2), (8, 0.8)), X, Y, title="", line=None).marks
    assert low.x < high.x
    assert low.y > high.y  # downwards in a drawing is up in numbers


def test_a_mark_alone_stands_where_its_values_are() -> None:
    chart = scatter(points((4, 0.6)), X, Y, title="", line=None)
    x, y = chart.values_at(chart.marks[0])
    assert abs(x - 4) < 0.01
    assert abs(y - 0.6) < 0.001


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 10), st.sampled_from([0, 0.2, 0.4])), max_size=12))
def test_no_two_marks_of_one_place_lie_on_each_other(places: list[tuple[float, float]]) -> None:
    chart = scatter(points(*places), X, Y, title="", line=None)
    by_place: dict[tuple[float, float], set[tuple[float, float]]] = {}
    for mark in chart.marks:
        by_place.setdefault(places[mark.number - 1], set()).add((mark.x, mark.y))
    assert all(len(drawn) == places.count(place) for place, drawn in by_place.items())
    assert [mark.number for mark in chart.marks] == list(range(1, len(places) + 1))


def test_groups_have_shapes_of_their_own_and_the_legend_says_which() -> None:
    chart = scatter(points((1, 0), (2, 0), (3, 0), groups="aab"), X, Y, title="", line=None)
    assert [mark.shape for mark in chart.marks] == ["circle", "circle", "square"]
    assert [(item.label, item.events) for item in chart.legend] == [("a", 2), ("b", 1)]


def test_beyond_six_groups_the_last_shape_is_for_the_others() -> None:
    chart = scatter(
        points(*[(at, 0) for at in range(8)], groups="abcdefgh"), X, Y, title="", line=None
    )
    assert len({mark.shape for mark in chart.marks}) == len(SHAPES)
    assert (chart.legend[-1].label, chart.legend[-1].events) == ("other", 3)


def test_a_surface_has_its_colour_and_other_groups_have_none() -> None:
    one, other = scatter(
        [Point(1, 1, 0, "clay", ""), Point(2, 2, 0, "national", "")], X, Y, title="", line=None
    ).marks
    assert (one.tone, other.tone) == ("clay", "")


def test_line_and_band_meet_at_the_medians() -> None:
    line = robust_line([2, 4, 6, 8, 9], [0, 0.2, 0.6, 0.6, 1])
    assert isinstance(line, Line)
    chart = scatter(points((2, 0)), X, Y, title="", line=line)
    at_medians = scatter(points((line.median_x, line.median_y)), X, Y, title="", line=None).marks[0]
    assert f"{at_medians.x},{at_medians.y}" in chart.band
    x1, y1, x2, y2 = chart.line
    on_line = y1 + (at_medians.x - x1) / (x2 - x1) * (y2 - y1)
    assert abs(on_line - at_medians.y) < 0.5


def test_an_effect_lies_within_its_interval_around_a_marked_nothing() -> None:
    bar = effect_bar(0.4, Interval(-0.1, 0.7))
    assert bar.left < bar.low < bar.zero < bar.at < bar.high < bar.right
    assert effect_bar(-1, Interval(-1, -0.5)).at == bar.left


def test_rounds_won_are_filled_squares() -> None:
    row = squares(2, 5)
    assert (row.filled.count("M"), row.empty.count("M")) == (2, 3)
    assert row.filled.startswith("M1 1h8v8h-8z")
    assert row.empty.startswith("M21 1")
