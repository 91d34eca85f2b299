"""Places of buzz with what stands at each."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

import intake.trade.readings  # noqa: F401
from intake.book.files.families import TUNINGS
from intake.book.files.families import usual as usual_rows
from intake.trade.errors import TradeError
from intake.trade.places import buzz_places
from intake.trade.registry import compute_readings


def test_a_place_has_its_own_wear_and_that_of_the_next_fret() -> None:
    wear = {3: F("0.008"), 4: F("0.003")}

    (place,) = buzz_places(["1/3"], 6, wear, (), (None, None))

    assert (place["string"], place["fret"]) == (1, 3)
    assert (place["worn"], place["next_worn"], place["loose"]) == (F("0.008"), F("0.003"), 0)
    assert "nut_here" not in place


def test_an_open_string_takes_the_nut_of_its_own_side() -> None:
    bass, treble = buzz_places(["6/0", "3/0"], 6, None, (), (F("-0.01"), F(0)))

    assert (bass["nut_here"], treble["nut_here"]) == (F("-0.01"), 0)
    assert "worn" not in bass


def test_a_loose_fret_counts_there_and_just_ahead() -> None:
    at, ahead, far = buzz_places(["2/5", "2/4", "2/7"], 6, None, (5,), (None, None))

    assert (at["loose"], ahead["loose"], far["loose"]) == (1, 1, 0)


def test_what_is_no_place_is_refused() -> None:
    with pytest.raises(TradeError):
        list(buzz_places(["third"], 6, None, (), (None, None)))


def test_the_readings_count_places_and_strings() -> None:
    found = compute_readings({"buzz_at": ("6/1", "6/2", "5/2"), "string_count": F(6)})

    assert found["buzz_place_count"].value == 3 and found["buzz_string_count"].value == 2
    assert [place["place"] for place in found["buzz_places"].value] == ["6/1", "6/2", "5/2"]


def test_semitones_count_where_they_are_known() -> None:
    rows = [{"family": "electric", "gauge_set": "light", "string": str(n), "gauge": "0.010", "kind": "plain"}
            for n in range(1, 7)]  # fmt: skip
    facts = {"family": "electric", "string_count": F(6), "scale_length": F("25.5"), "gauge_set": "light",
             "strings_table": rows, "tunings_table": usual_rows(TUNINGS)}  # fmt: skip

    usual = compute_readings({**facts, "tuning": "lowered"})["tension_low"].value
    lower = compute_readings({**facts, "tuning": "lowered", "tuning_semitones": F(-12)})["tension_low"].value
    standard = compute_readings({**facts, "tuning": "standard"})["tension_low"].value

    assert lower == pytest.approx(float(standard) / 4, abs=0.02) and lower < usual < standard


def test_a_map_of_the_top_needs_the_bridge_and_four_places_more() -> None:
    full = {"bridge": F("0.115"), "tail": F("0.100"), "bass_bout": F("0.098"), "treble_bout": F("0.099"),
            "sound_hole": F("0.110")}  # fmt: skip

    assert compute_readings({"top_map": full})["top_map_taper"].value == F("0.017")
    assert "top_map_taper" not in compute_readings({"top_map": {"bridge": F("0.115"), "tail": F("0.1")}})
