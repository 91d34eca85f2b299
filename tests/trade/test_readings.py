"""Readings through `compute_readings`: definitions, missing measures, and whatever a counter may type."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.files.families import FAMILIES, TUNINGS, usual
from intake.trade.registry import REGISTRY, compute_readings

F = Fraction
STRINGS = tuple(
    {"family": "steel-string", "gauge_set": "light", "string": str(number), "gauge": gauge, "kind": kind}
    for number, (gauge, kind) in enumerate(
        [("0.012", "plain"), ("0.016", "plain"), ("0.024", "wound"), ("0.032", "wound"), ("0.042", "wound"),
         ("0.053", "wound")],
        start=1,
    )
)  # fmt: skip
WOODS = ({"id": "spruce", "radial": "0.00148", "tangential": "0.00263"},)
FLAT_TOP: dict[str, Any] = {
    "family": "steel-string", "string_count": F(6), "fret_count": F(20), "join_fret": F(14),
    "tuning": "standard",
    "attack": "medium", "gauge_set": "light", "scale_length": F("25.4"), "relief": F("0.007"),
    "action_bass_12": F(8, 64), "action_treble_12": F(6, 64), "nut_bass_1": F("0.020"),
    "nut_treble_1": F("0.014"),
    "saddle_showing": F(5, 32), "straightedge_at_bridge": F(-3, 64), "saddle_to_pins": F(1, 2),
    "crown_height": F("0.042"), "fret_wear": {1: F("0.003"), 2: F("0.008")}, "head_angle": F(14),
    "room_rh": F(22), "room_temp": F(70), "shop_rh": F(45), "shop_temp": F(70), "lower_bout_width": F(15),
    "lining_width": F(1, 4), "back_radius": F(15), "top_at_bridge": F("0.105"), "top_at_edge": F("0.088"),
    "intonation_cents": F(5), "action_bass_low": F(6, 64), "action_bass_high": F(13, 128),
    "action_treble_low": F(9, 128), "action_treble_high": F(5, 64), "relief_low": F("0.004"),
    "relief_high": F("0.008"), "nut_bass_low": F("0.018"), "nut_bass_high": F("0.026"),
    "nut_treble_low": F("0.012"), "nut_treble_high": F("0.018"), "saddle_wanted": F(1, 8),
    "saddle_least": F(1, 16), "crown_limit": F("0.030"), "default_heel_depth": F("3.75"),
    "default_compensation": F("0.1"), "default_spread": F("2.125"), "default_board_radius": F(16),
    "default_top_wood": "spruce", "default_back_wood": "spruce", "default_board_wood": "spruce",
    "default_bridge_wood": "spruce", "default_board_width": F("2.25"), "default_bridge_width": F("1.4"),
    "strings_table": STRINGS, "woods_table": WOODS, "tunings_table": usual(TUNINGS),
    "families_table": usual(FAMILIES), "pins": (), "loose_frets": (), "buzz_at": ("1/3", "6/0"),
    "top_map": {"bridge": F("0.105"), "tail": F("0.095"), "bass_bout": F("0.094"), "treble_bout": F("0.092"),
                "sound_hole": F("0.100")},
    "book_action_bass_low": F(6, 64), "book_action_bass_high": F(7, 64),
    "book_action_treble_low": F(4, 64), "book_action_treble_high": F(5, 64),
}  # fmt: skip
PLAYABILITY = {
    "action_bass_over", "action_treble_over", "action_over", "action_under", "relief_over", "back_bow",
    "rod_action_change", "saddle_drop_bass", "saddle_drop_treble", "saddle_drop", "saddle_left",
    "neck_angle_deficit", "heel_wedge", "straightedge_expected", "straightedge_disagreement",
    "straightedge_beyond",
    "buzz_margin", "buzz_margin_at", "break_angle_after",
}  # fmt: skip


def inches(gauges: str) -> tuple[Fraction, ...]:
    return tuple(F(gauge) for gauge in gauges.split())


def values(**changes: Any) -> dict[str, Any]:
    """Values of the flat top's readings; a change to None takes the fact away."""
    return {id: item.value for id, item in compute_readings({**FLAT_TOP, **changes}).items()}


def test_a_fully_measured_instrument_has_every_reading() -> None:
    assert set(compute_readings(FLAT_TOP)) == set(REGISTRY)


def test_nothing_known_gives_no_measure() -> None:
    assert compute_readings({}) == {}


@pytest.mark.parametrize("state", ["slack", "some_missing", "none"])
def test_slack_strings_say_nothing_about_action(state: str) -> None:
    assert not PLAYABILITY & set(values(strings_state=state))
    assert set(values(strings_state="at_pitch")) >= PLAYABILITY


def test_over_is_zero_inside_the_range_and_signed_outside() -> None:
    assert values(relief=F("0.006"))["relief_over"] == 0
    assert values(relief=F("0.010"))["relief_over"] == F("0.002")
    assert values(relief=F("-0.002"))["relief_over"] == F("-0.006")
    assert values(relief=F("-0.002"))["back_bow"] == F("0.002")
    low = values(action_bass_12=F(5, 64), action_treble_12=F(9, 64))
    assert low["action_over"] == F(4, 64)
    assert low["action_under"] == F(-1, 64)


def test_the_bounds_of_a_range_are_inside_it() -> None:
    at_the_top = values(action_bass_12=F(13, 128), action_treble_12=F(5, 64))
    assert at_the_top["action_over"] == at_the_top["action_under"] == 0


def test_relief_within_its_range_is_not_corrected_first() -> None:
    """Exactly twice the fall, and a little more for compensation."""
    inside = values(relief=F("0.004"))
    assert inside["saddle_drop_bass"] == (F(8, 64) - F("6.25") / 64) * 2 * (1 + F("0.1") / F("25.4"))


def test_relief_beyond_its_range_is_brought_to_its_target_first() -> None:
    bowed = values(relief=F("0.024"))
    forecast = F(8, 64) - F("1.7") * (F("0.024") - F("0.006"))
    assert bowed["saddle_drop_bass"] == (forecast - F("6.25") / 64) * 2 * (1 + F("0.1") / F("25.4"))


def test_saddle_left_takes_the_larger_drop() -> None:
    found = values()
    assert found["saddle_left"] == F(5, 32) - max(found["saddle_drop_bass"], found["saddle_drop_treble"])
    assert values(action_treble_12=None)["saddle_left"] == found["saddle_left"]


def test_enough_saddle_means_no_deficit_and_no_wedge_even_without_a_heel() -> None:
    found = values(default_heel_depth=None, join_fret=None)
    assert found["neck_angle_deficit"] == found["heel_wedge"] == 0


def test_too_little_saddle_asks_for_the_wanted_one() -> None:
    found = values(saddle_showing=F(1, 16))
    assert found["neck_angle_deficit"] == F(1, 8) - found["saddle_left"]
    assert F("0.02") < found["heel_wedge"] < F("0.06")
    assert "heel_wedge" not in values(saddle_showing=F(1, 16), default_heel_depth=None)


def test_a_reset_is_only_for_a_saddle_short_even_at_the_top_of_the_range() -> None:
    found = values()
    over = max(found["action_bass_after"] - F(13, 128), found["action_treble_after"] - F(5, 64))
    reaching = F(1, 16) + over * found["saddle_ratio"]

    short = values(saddle_showing=reaching - F(1, 10**9))
    enough = values(saddle_showing=reaching)

    assert enough["saddle_left_at_top"] == F(1, 16) and enough["neck_angle_deficit"] == 0
    assert enough["saddle_reach"] == 0 > short["saddle_reach"] and short["neck_angle_deficit"] > 0


def test_a_wish_may_lie_lower_than_a_saddle_reaches_that_serves_the_shop_s_own_range() -> None:
    wish = {"action_bass_high": F(7, 128), "action_treble_high": F(5, 128)}
    shop = {"book_action_bass_high": F(13, 128), "book_action_treble_high": F(5, 64)}

    found = values(**wish, **shop)

    assert found["saddle_reach"] < 0 < found["saddle_reach_shop"] == values()["saddle_reach"]
    assert found["saddle_spare"] == F(5, 32) - F(1, 16)
    assert "saddle_reach_shop" not in values(**wish, **dict.fromkeys(shop))


def test_what_a_ruler_cannot_tell_is_no_deficit() -> None:
    found = values()
    over = max(found["action_bass_after"] - F(13, 128), found["action_treble_after"] - F(5, 64))
    reaching = F(1, 16) + over * found["saddle_ratio"]

    within = values(saddle_showing=reaching - F(1, 64), saddle_doubt=F(1, 64))
    beyond = values(saddle_showing=reaching - F(1, 63), saddle_doubt=F(1, 64))

    assert within["saddle_reach"] == within["neck_angle_deficit"] == 0
    assert beyond["saddle_reach"] < 0 < beyond["neck_angle_deficit"]


def test_the_string_that_must_rise_most_counts_for_a_rise() -> None:
    found = values(action_bass_12=F(4, 64), action_treble_12=F(6, 64), relief=F("0.006"))

    assert found["saddle_rise"] == -found["saddle_drop_bass"] > 0
    assert found["saddle_drop"] == found["saddle_drop_treble"] > 0


def test_without_a_rod_a_bow_that_may_stay_brings_no_string_down() -> None:
    bowed = {"relief": F("0.018"), "relief_without_rod": F("0.020")}

    assert (
        values(rod="two_way", **bowed)["action_bass_after"] < values(rod="none", **bowed)["action_bass_after"]
    )
    assert values(rod="none", **bowed)["rod_action_change"] == 0
    assert values(rod="none", relief=F("0.024"), relief_without_rod=F("0.020"))["rod_action_change"] < 0


def test_the_books_scale_stands_in_for_one_not_measured() -> None:
    assert values(scale_length=None, default_scale_length=F(25))["scale_used"] == 25
    assert "saddle_drop" not in values(scale_length=None)


def test_an_arched_board_carries_the_straightedge_higher() -> None:
    flat, arched = values(board_radius=F(0)), values(board_radius=F(12))
    assert arched["straightedge_expected"] > flat["straightedge_expected"]
    assert flat["straightedge_margin"] == arched["straightedge_margin"] == F(1, 16)


def test_an_unknown_radius_widens_the_margin_only_upward() -> None:
    expected = values()["straightedge_expected"]
    above, below = expected + F(1, 10), expected - F(1, 10)
    assert values(straightedge_at_bridge=above)["straightedge_margin"] > F(1, 16)
    assert (
        values(straightedge_at_bridge=above)["straightedge_beyond"]
        < values(straightedge_at_bridge=below)["straightedge_beyond"]
        == F("0.0375")
    )


def test_wear_counts_fret_by_fret() -> None:
    found = values(fret_wear={1: F("0.013"), 2: F("0.012"), 5: F("0.002")})
    assert found["crown_left"] == F("0.029")
    assert found["frets_below_limit"] == 1
    assert found["frets_worn"] == 2
    assert found["crown_left_by_fret"][2] == F("0.030")
    assert found["crown_left_by_fret"][20] == F("0.042")


def test_low_crowns_count_all_frets_or_none_at_all() -> None:
    assert values(crown_height=F("0.029"))["frets_below_limit"] == 20
    assert "frets_below_limit" not in values(crown_height=F("0.029"), fret_count=None)


def test_wear_not_asked_is_not_no_wear() -> None:
    unasked = values(fret_wear=None)
    assert not {"crown_left", "frets_below_limit", "crown_left_by_fret", "deepest_wear"} & set(unasked)
    assert values(fret_wear=("none",))["crown_left"] == F("0.042")
    assert values(fret_wear={})["crown_left"] == F("0.042")


def test_a_groove_deeper_than_the_fret_is_nonsense() -> None:
    assert "crown_left" not in values(fret_wear={3: F("0.050")})


def test_a_spot_level_serves_few_shallow_frets() -> None:
    assert values(fret_wear={1: F("0.003")})["spot_level_serves"] == 1
    assert values(fret_wear={1: F("0.008")})["spot_level_serves"] == 0
    assert values(fret_wear={fret: F("0.003") for fret in range(1, 5)})["spot_level_serves"] == 0


def test_buzz_names_the_place_of_the_least_margin() -> None:
    found = values(nut_treble_1=F("0.002"), attack="firm")
    assert found["buzz_margin_at"] == "1/0"
    assert found["buzz_margin"] == min(found["buzz_by_string"].values()) < 0


def test_tension_is_string_by_string_and_unknown_in_an_open_tuning() -> None:
    found = values()
    assert len(found["string_tension"]) == 6
    assert found["tension_total"] == sum(found["string_tension"])
    assert values(tuning="lowered")["tension_total"] < found["tension_total"]
    assert "tension_total" not in values(tuning="open")
    assert "tension_total" not in values(gauge_set="unknown")
    assert values(tuning="open")["buzz_margin"] is not None


def test_single_gauges_go_before_the_set() -> None:
    thick = values(gauges=inches("0.013 0.017 0.026 0.035 0.045 0.056"))
    assert thick["tension_total"] > values()["tension_total"]
    assert "tension_total" not in values(gauges=(F("0.012"),))


def test_octave_courses_take_the_thin_string_for_the_high_note() -> None:
    gauges = inches("0.010 0.010 0.010 0.014 0.014 0.014 0.020 0.023 0.027 0.030 0.038 0.048")
    tensions = values(gauges=gauges, string_count=F(12))["string_tension"]
    assert len(tensions) == 12
    assert max(tensions) < 2.5 * min(tensions)


def test_strings_that_leave_the_posts_high_do_not_follow_the_head() -> None:
    assert values()["break_angle_nut"] == 14
    assert "break_angle_nut" not in values(nut_wraps_low=False)


def test_a_dry_room_means_a_top_that_will_swell_in_the_shop() -> None:
    dry, wet, same = values(), values(room_rh=F(70)), values(room_rh=F(45))
    assert dry["top_movement"] > 0 > wet["top_movement"]
    assert same["top_movement"] == same["moisture_change"] == 0
    assert (dry["moisture_class"], same["moisture_class"], wet["moisture_class"]) == (-2, 0, 2)
    assert (dry["days_to_condition"], same["days_to_condition"]) == (14, 0)


def test_a_wood_that_is_not_in_the_book_does_not_move() -> None:
    assert "top_movement" not in values(default_top_wood="stone")
    assert "top_movement" in values(default_top_wood="stone", top_wood="spruce")


MEASURE = st.fractions(-100, 100, max_denominator=1000)
WORDS = st.sampled_from(["steel-string", "banjo", "bass", "light", "medium", "open", "standard", "none", ""])
ODD = st.one_of(
    st.none(),
    MEASURE,
    st.sampled_from([F(0), F(10**30), F(-(10**30)), F(1, 10**30)]),
)


@given(st.data())
def test_no_measure_that_a_counter_types_crashes_or_gives_no_number(data: st.DataObject) -> None:
    facts = dict(FLAT_TOP)
    for name in data.draw(st.lists(st.sampled_from(sorted(FLAT_TOP)), max_size=8, unique=True)):
        if isinstance(FLAT_TOP[name], Fraction):
            facts[name] = data.draw(ODD, label=name)
        elif isinstance(FLAT_TOP[name], str):
            facts[name] = data.draw(WORDS, label=name)
    facts["fret_wear"] = data.draw(st.dictionaries(st.integers(-3, 60), MEASURE, max_size=4))
    for item in compute_readings(facts).values():
        plain = item.value.values() if isinstance(item.value, dict) else item.value
        for value in plain if isinstance(plain, tuple) or not isinstance(plain, Fraction | str) else (plain,):
            assert isinstance(value, Fraction | str | dict)


@given(st.fractions(0, F(1, 10), max_denominator=1000), st.fractions(0, F(1, 10), max_denominator=1000))
def test_more_relief_never_lowers_the_action_that_is_forecast(one: Fraction, other: Fraction) -> None:
    less, more = sorted((one, other))
    assert values(relief=less)["rod_action_change"] >= values(relief=more)["rod_action_change"]


@given(st.fractions(5, 95, max_denominator=10), st.fractions(5, 95, max_denominator=10))
def test_a_drier_room_never_leaves_wetter_wood(one: Fraction, other: Fraction) -> None:
    dry, wet = sorted((one, other))
    drier, wetter = values(room_rh=dry), values(room_rh=wet)
    assert drier["wood_moisture"] <= wetter["wood_moisture"]
    assert (drier["top_movement"] > 0) == (drier["moisture_change"] > 0)
