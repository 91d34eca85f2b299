"""Every row that `published_checks` prints holds, and the maths agrees with SciPy where SciPy has it."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from scipy import constants, integrate, optimize

from intake.trade import geometry, intonation, strings, wood
from intake.trade.buzz import swing_for
from intake.trade.checks import Check, check_lines, published_checks
from intake.trade.checks.wood import TABLE_4_2
from intake.trade.units import convert

CHECKS = published_checks()


@pytest.mark.parametrize("check", CHECKS, ids=[f"{row.what} [{row.unit}]" for row in CHECKS])
def test_ours_agrees_with_the_source(check: Check) -> None:
    assert check.source
    assert check.holds, f"{check.what}: {check.expected} there, {check.ours} here"


def test_a_wrong_figure_would_not_hold() -> None:
    assert not Check("a source", "a thing", 1.0, 1.2, 0.1, "in").holds


def test_every_cell_of_the_moisture_table_is_within_a_tenth() -> None:
    """Wood Handbook, FPL-GTR-190, Table 4-2; its cells are rounded to 0.1, the formula adds .02."""
    deviations = [
        abs(wood.moisture(temperature, rh) - float(cell))
        for temperature, row in TABLE_4_2.items()
        for rh, cell in zip(range(5, 100, 5), row.split(), strict=True)
    ]
    assert len(deviations) == 13 * 19
    assert max(deviations) < 0.07


def test_both_forms_of_the_moisture_equation_agree() -> None:
    """Wood Handbook ch. 4 in °C against USDA FPL-RN-0268 in °F, where shops are."""
    for temperature in range(30, 91, 5):
        for rh in range(5, 96, 5):
            celsius = (temperature - 32) / 1.8
            assert wood.moisture(temperature, rh) == pytest.approx(
                wood.moisture_at_celsius(celsius, rh), abs=0.07
            )


@pytest.mark.parametrize(
    ("unit", "si"),
    [("in", constants.inch), ("ft", constants.foot), ("mm", constants.milli), ("cm", constants.centi)],
)
def test_lengths_convert_as_scipy_constants(unit: str, si: float) -> None:
    assert float(convert(Fraction(1), unit, "mm")) == pytest.approx(si / constants.milli, rel=1e-15)


def test_pound_force_and_temperature_convert_as_scipy_constants() -> None:
    assert float(convert(Fraction(1), "lbf", "N")) == pytest.approx(constants.pound_force, rel=1e-12)
    there = constants.convert_temperature(71.3, "Fahrenheit", "Celsius")
    assert float(convert(Fraction("71.3"), "F", "C")) == pytest.approx(there, rel=1e-12)


def test_gravity_and_density_are_scipys() -> None:
    assert math.isclose(strings.GRAVITY, constants.g / constants.inch, rel_tol=1e-15)
    assert math.isclose(strings.LB_PER_IN3, constants.inch**3 / constants.pound, rel_tol=1e-15)


def test_radius_from_rise_is_the_root_of_the_sagitta() -> None:
    root = optimize.brentq(lambda radius: geometry.sagitta(radius, 14.75) - 0.1, 10, 5000)
    assert float(geometry.radius_from_rise(Fraction("0.1"), Fraction("14.75"))) == pytest.approx(
        root, rel=1e-9
    )


def test_compensation_to_first_order_is_close_to_the_exact_root() -> None:
    for cents in (-10, -3, 3, 10):
        exact = optimize.brentq(lambda c, n=cents: intonation.cents_from_compensation(25.4, c) + n, -2, 2)
        assert intonation.compensation_change(25.4, cents) == pytest.approx(exact, rel=0.02)


def test_wrap_weighs_what_its_volume_weighs() -> None:
    """The helix of touching wire, its length integrated along one inch of string."""
    core, gauge = 0.013, 0.024
    wire = (gauge - core) / 2
    turns = 1 / wire
    around, _ = integrate.quad(lambda angle: math.hypot((core + wire) / 2, 0), 0, 2 * math.pi * turns)
    weight = around * math.pi * wire**2 / 4 * strings.BRONZE * strings.LB_PER_IN3
    ours = strings.wound_unit_weight(gauge, core) - strings.plain_unit_weight(core)
    assert ours == pytest.approx(weight, rel=1e-9)


def test_a_string_pulled_aside_swings_by_the_statics_of_its_tension() -> None:
    """F = T (d/p + d/(L − p)) balances the pull; half the tension swings twice as far."""
    assert swing_for("medium", 20, 25) / swing_for("medium", 25, 25) == pytest.approx(25 / 20)


def test_the_printed_comparison_names_every_source_and_row() -> None:
    printed = "\n".join(check_lines())
    for check in CHECKS:
        assert check.source in printed
        assert check.what in printed
    assert "TOO FAR" not in printed
