"""What may not be taken as usual."""

from __future__ import annotations

from intake.services.assumptions import never_usual
from tests.memo import sample_book

BOOK = sample_book()


def test_the_neck_joint_and_the_rod_are_looked_at() -> None:
    assert {"neck_joint", "rod"} <= never_usual(BOOK)


def test_so_is_whatever_can_stop_a_quote() -> None:
    assert {"mains_gear", "crossing_border", "restricted_material", "wet_signs"} <= never_usual(BOOK)


def test_what_a_stop_rests_on_through_a_reading_is_looked_at_too() -> None:
    assert {"relief", "action_bass_12", "saddle_showing"} <= never_usual(BOOK)


def test_the_rest_may_be_taken_as_usual() -> None:
    assert not {"fret_count", "customer_name", "attack"} & never_usual(BOOK)
