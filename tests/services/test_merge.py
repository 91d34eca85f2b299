"""What becomes of an edit: each bullet of the merge, and that no value is ever replaced unseen."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.services.merge import Edit, Outcome, Part, fold


def same(one: str, other: str) -> bool:
    """As read: what differs only in its leading zero is the same."""
    return one.strip().removeprefix("0") == other.strip().removeprefix("0")


@dataclass
class Taking:
    """A part and what became of each edit."""

    part: Part = field(default_factory=Part)
    fates: dict[str, str] = field(default_factory=dict)
    log: list[tuple[Edit, Outcome]] = field(default_factory=list)

    def take(self, id: str, value: str, base: str = "", by: str = "hand") -> str:
        edit = Edit(id, value, tuple(base.split()), by)
        outcome = self.part.take(edit, same)
        self.log.append((edit, outcome))
        self.fates[id] = outcome.fate
        return outcome.fate

    @property
    def values(self) -> list[str]:
        return [head.value for head in self.part.heads]


@pytest.fixture
def taking() -> Taking:
    return Taking()


def test_the_first_edit_of_a_blank_part_stands(taking: Taking) -> None:
    assert taking.take("a", "1") == "stands"
    assert taking.part.value == "1"


def test_an_edit_whose_base_stands_replaces_it(taking: Taking) -> None:
    taking.take("a", "1")

    assert taking.take("b", "2", "a") == "stands"
    assert taking.values == ["2"]


def test_an_edit_that_did_not_see_what_stands_is_a_clash(taking: Taking) -> None:
    taking.take("a", "1")

    assert taking.take("b", "2") == "clash"
    assert taking.values == ["1", "2"]
    assert taking.part.value == ""


def test_the_same_value_is_done(taking: Taking) -> None:
    taking.take("a", ".020")

    assert taking.take("b", "0.020") == "same"
    assert taking.values == [".020"]


def test_who_gave_the_same_has_seen_what_stands(taking: Taking) -> None:
    taking.take("a", "1")
    taking.take("b", "1")

    assert taking.take("c", "2", "b") == "stands"
    assert taking.values == ["2"]


def test_taking_back_against_a_change_is_a_clash(taking: Taking) -> None:
    taking.take("a", "1")
    taking.take("b", "2", "a")

    assert taking.take("c", "", "a") == "clash"


def test_taking_back_what_is_not_there_is_done_and_weighs_nothing(taking: Taking) -> None:
    assert taking.take("a", "") == "same"
    assert taking.take("b", "1") == "stands"


def test_an_edit_on_top_of_a_loser_takes_its_place(taking: Taking) -> None:
    taking.take("a", "1")
    taking.take("b", "2")

    assert taking.take("c", "3", "b") == "clash"
    assert taking.values == ["1", "3"]


def test_another_tap_of_the_one_that_stood_settles_nothing(taking: Taking) -> None:
    taking.take("a", "1")
    taking.take("b", "2")

    assert taking.take("c", "3", "a") == "clash"
    assert taking.values == ["2", "3"]


def test_a_choice_names_all_the_values_shown(taking: Taking) -> None:
    taking.take("a", "1")
    taking.take("b", "2")

    assert taking.take("c", "2", "a b") == "same"
    assert taking.values == ["2"]


def test_a_choice_may_be_a_new_value(taking: Taking) -> None:
    taking.take("a", "1")
    taking.take("b", "2")

    assert taking.take("c", "3", "a b") == "stands"
    assert taking.values == ["3"]


def test_a_choice_that_did_not_see_a_third_value_leaves_it_to_be_chosen(taking: Taking) -> None:
    taking.take("a", "1")
    taking.take("b", "2")
    taking.take("c", "3")

    assert taking.take("d", "2", "a b") == "clash"
    assert taking.values == ["2", "3"]


def test_a_clash_ends_when_all_sides_have_given_the_same(taking: Taking) -> None:
    taking.take("a", "1")
    taking.take("b", "2")

    assert taking.take("c", "1", "b") == "same"
    assert taking.values == ["1"]


@pytest.mark.parametrize("by", ["sound", "usual", "earlier"])
def test_a_hand_replaces_what_no_hand_gave_without_having_seen_it(taking: Taking, by: str) -> None:
    taking.take("a", "none", by=by)

    assert taking.take("b", "bad") == "stands"
    assert taking.values == ["bad"]


@pytest.mark.parametrize("by", ["sound", "usual", "earlier"])
@pytest.mark.parametrize("base", ["", "a"])
def test_what_no_hand_gave_never_replaces_a_hand_s(taking: Taking, by: str, base: str) -> None:
    taking.take("a", "bad")

    assert taking.take("b", "none", base, by) == "history"
    assert taking.values == ["bad"]


def test_a_hand_that_says_what_was_taken_as_sound_makes_it_a_hand_s(taking: Taking) -> None:
    taking.take("a", "none", by="sound")
    taking.take("b", "none")

    assert taking.part.heads[0].by == "hand"


def test_what_a_hand_took_back_in_sight_may_be_filled_as_sound(taking: Taking) -> None:
    taking.take("a", "bad")
    taking.take("b", "", "a")

    assert taking.take("c", "none", "b", "sound") == "stands"
    assert taking.take("d", "none", "", "usual") == "same"


def test_what_a_hand_took_back_elsewhere_is_not_filled_as_sound(taking: Taking) -> None:
    taking.take("a", "bad")
    taking.take("b", "", "a")

    assert taking.take("c", "none", "a", "sound") == "history"


def test_an_edit_that_comes_after_the_one_that_replaced_it_is_replaced(taking: Taking) -> None:
    """The store was set back, and the later phone was quicker."""
    assert taking.take("b", "2", "a") == "stands"
    assert taking.take("a", "1") == "replaced"
    assert taking.values == ["2"]


def test_a_gap_in_the_middle_closes_once_it_is_filled(taking: Taking) -> None:
    taking.take("c", "3", "b")
    assert taking.take("a", "1") == "clash"

    assert taking.take("b", "2", "a") == "replaced"
    assert taking.values == ["3"]


def test_an_edit_on_top_of_one_that_is_history_did_not_see_the_hand_s(taking: Taking) -> None:
    taking.take("a", "bad")
    taking.take("b", "none", by="sound")

    assert taking.take("c", "worse", "b") == "clash"


@st.composite
def histories(draw: st.DrawFn) -> list[Edit]:
    """Edits that anybody could have made of one part, in an order that any line could bring them in."""
    edits: list[Edit] = []
    for at in range(draw(st.integers(1, 8))):
        known = [edit.id for edit in edits]
        base = draw(st.lists(st.sampled_from(known), max_size=3, unique=True)) if known else []
        by = draw(st.sampled_from(["hand", "hand", "sound", "usual"]))
        edits.append(Edit(f"e{at}", draw(st.sampled_from(["", "1", "2", "3"])), tuple(base), by))
    return draw(st.permutations(edits))


@given(histories())
def test_each_hand_s_edit_stands_was_replaced_in_sight_equals_what_stands_or_clashes(
    edits: list[Edit],
) -> None:
    part, fates = Part(), {}
    for edit in edits:
        fates[edit.id] = part.take(edit, same).fate
        assert_nothing_is_lost(part, edits, fates)


def assert_nothing_is_lost(part: Part, edits: list[Edit], fates: dict[str, str]) -> None:
    heads = {head.id for head in part.heads}
    taken = [edit for edit in edits if edit.id in fates]
    seen = {id for edit in taken if fates[edit.id] != "history" for id in edit.base}
    for edit in taken:
        if not edit.by_hand:
            continue
        group = {other.id for other in taken if part.roots[other.id] == part.roots[edit.id]}
        nothing = edit.is_blank and part.roots[edit.id] == "-"
        assert group & heads or group & seen or nothing, edit


@given(histories())
def test_what_no_hand_gave_never_stands_beside_what_a_hand_gave(edits: list[Edit]) -> None:
    part = Part()
    for edit in edits:
        part.take(edit, same)
        assert len({head.by_hand for head in part.heads}) <= 1


@given(histories())
def test_replaying_what_was_decided_gives_the_same_part(edits: list[Edit]) -> None:
    part = Part()
    log = [(edit, part.take(edit, same)) for edit in edits]

    assert fold(log) == part


@given(histories())
def test_no_two_sides_say_the_same(edits: list[Edit]) -> None:
    part = Part()
    for edit in edits:
        part.take(edit, same)
        values = [head.value for head in part.heads]
        assert len(values) == len(set(values))
