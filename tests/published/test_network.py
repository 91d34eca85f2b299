"""The critical path against printed exercises and against NetworkX."""

from __future__ import annotations

from fractions import Fraction
from graphlib import CycleError

import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.model import Hours
from intake.quoting.critical_path import critical_path, driving_chain
from intake.quoting.effort import mean

# An operations-management exercise of ten activities (duration, activities before it), with its printed
# early start, early finish, late start and late finish.
TEN = {
    "A": (2, "", 0, 2, 0, 2), "B": (4, "A", 2, 6, 3, 7), "C": (5, "A", 2, 7, 2, 7),
    "D": (2, "B", 6, 8, 15, 17), "E": (1, "B", 6, 7, 16, 17), "F": (8, "BC", 7, 15, 7, 15),
    "G": (3, "DE", 8, 11, 17, 20), "H": (5, "F", 15, 20, 15, 20), "I": (4, "F", 15, 19, 16, 20),
    "J": (7, "GHI", 20, 27, 20, 27),
}  # fmt: skip
# A second one from the same kind of textbook: the end is 27, and B and E have two days of slack.
FIVE = {"A": (12, ""), "B": (10, ""), "C": (10, "AB"), "D": (5, "C"), "E": (3, "C")}
# The exercise of test_effort.py, with what comes before what; the printed slacks of A to F.
FOURTEEN = {
    "A": ((5, 5, 7), ""), "B": ((1, 2, 5), ""), "C": ((5, 5, 5), "A"), "D": ((4, 8, 13), "A"),
    "E": ((1, 10, 17), "BC"), "F": ((1, 5, 7), "D"), "G": ((2, 6, 9), "D"), "H": ((4, 4, 6), "EF"),
    "I": ((2, 7, 10), "GH"), "J": ((2, 4, 7), "I"), "K": ((6, 10, 13), "I"), "L": ((2, 6, 6), "J"),
    "M": ((2, 2, 3), "K"), "N": ((7, 7, 12), "LM"),
}  # fmt: skip
PRINTED_SLACK = {"A": 0, "B": 8, "C": 0, "D": 1.83, "E": 0, "F": 1.83}


def network(table):
    durations = {activity: Fraction(row[0]) for activity, row in table.items()}
    return durations, {activity: tuple(row[1]) for activity, row in table.items()}


def critical(durations, after):
    times = critical_path(durations, after)
    return "".join(activity for activity in durations if times[activity].slack == 0)


def chain(durations, after):
    times = critical_path(durations, after)
    return "".join(driving_chain(after, {activity: each.finish for activity, each in times.items()}))


def test_ten_activities_have_the_printed_times():
    durations, after = network(TEN)
    for activity, times in critical_path(durations, after).items():
        found = (times.start, times.finish, times.latest_start, times.latest_finish)
        assert found == TEN[activity][2:], activity
    assert critical(durations, after) == chain(durations, after) == "ACFHJ"


def test_five_activities_have_the_printed_end_and_slack():
    durations, after = network(FIVE)
    times = critical_path(durations, after)
    assert max(each.finish for each in times.values()) == 27
    assert {activity: times[activity].slack for activity in "BE"} == {"B": 2, "E": 2}
    assert critical(durations, after) == chain(durations, after) == "ACD"


def test_fourteen_activities_with_three_point_estimates():
    """The slacks are the printed ones; the length is computed from the printed table (50.83 days)."""
    durations = {activity: mean(Hours(*map(Fraction, three))) for activity, (three, _) in FOURTEEN.items()}
    after = {activity: tuple(earlier) for activity, (_, earlier) in FOURTEEN.items()}
    times = critical_path(durations, after)
    for activity, slack in PRINTED_SLACK.items():
        assert float(times[activity].slack) == pytest.approx(slack, abs=0.005), activity
    assert float(max(each.finish for each in times.values())) == pytest.approx(50.83, abs=0.005)
    assert critical(durations, after) == chain(durations, after) == "ACEHIKMN"


def test_the_encyclopaedias_seven_activities():
    """The usual seven-activity example (from memory): te 4.00 … 5.17, path A-C-E-G, end 19.50."""
    table = {
        "A": ((2, 4, 6), ""), "B": ((3, 5, 9), ""), "C": ((4, 5, 7), "A"), "D": ((4, 6, 10), "A"),
        "E": ((4, 5, 7), "BC"), "F": ((3, 4, 8), "D"), "G": ((3, 5, 8), "E"),
    }  # fmt: skip
    durations = {activity: mean(Hours(*map(Fraction, three))) for activity, (three, _) in table.items()}
    after = {activity: tuple(earlier) for activity, (_, earlier) in table.items()}
    assert max(each.finish for each in critical_path(durations, after).values()) == Fraction(39, 2)
    assert chain(durations, after) == "ACEG"


@st.composite
def networks(draw):
    count = draw(st.integers(1, 12))
    durations = {number: Fraction(draw(st.integers(0, 40)), 4) for number in range(count)}
    after = {
        number: tuple(draw(st.sets(st.integers(0, number - 1)))) if number else () for number in range(count)
    }
    return durations, after


@given(networks())
def test_length_and_slack_agree_with_networkx(drawn):
    """NetworkX's longest path through the same activities, whole and through each one, gives both."""
    durations, after = drawn
    graph = networkx.DiGraph()
    for activity, duration in durations.items():
        graph.add_edge((activity, "start"), (activity, "end"), weight=duration)
        graph.add_edge("begin", (activity, "start"), weight=Fraction(0))
        graph.add_edge((activity, "end"), "finish", weight=Fraction(0))
        graph.add_edges_from((((other, "end"), (activity, "start")) for other in after[activity]), weight=0)
    times = critical_path(durations, after)
    length = networkx.dag_longest_path_length(graph)
    assert max(each.finish for each in times.values()) == length
    for activity, each in times.items():
        before = graph.subgraph({*networkx.ancestors(graph, (activity, "end")), (activity, "end")})
        onward = graph.subgraph({*networkx.descendants(graph, (activity, "start")), (activity, "start")})
        through = networkx.dag_longest_path_length(before) + networkx.dag_longest_path_length(onward)
        assert each.slack == length - (through - durations[activity])
        assert each.finish - each.start == each.latest_finish - each.latest_start == durations[activity]


def test_a_circle_is_refused():
    with pytest.raises(CycleError):
        critical_path({"A": Fraction(1), "B": Fraction(1)}, {"A": ("B",), "B": ("A",)})
