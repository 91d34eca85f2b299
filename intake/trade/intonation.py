"""Why a fretted note is sharp, and where the saddle should stand for it. Lengths in inches."""

from __future__ import annotations

import math

from intake.trade.checked import Number, not_negative, positive, within

STEEL_MODULUS = 30e6
"""Young's modulus of steel in lbf/in2."""
CENTS_PER_LENGTH = 1200 / math.log(2)


def compensation_change(scale: Number, cents: Number) -> float:
    """How far the saddle moves for an error at the 12th fret: L · cents / 1731, sharp away from the nut.

    Scale above zero, |cents| ≤ 200, else TradeError. Source: derived; to first order, 1 % at 10 cents.
    """
    positive(scale, "the scale length")
    within(cents, -200, 200, "the cents")
    return float(scale) * float(cents) / CENTS_PER_LENGTH


def cents_from_compensation(scale: Number, shift: Number) -> float:
    """What moving the saddle back by `shift` does to the 12th fret, the open string retuned, in cents.

    |shift| ≤ a quarter of the scale, else TradeError. Source: derived, exact.
    """
    positive(scale, "the scale length")
    within(shift, -scale / 4, scale / 4, "the shift")
    length, c = float(scale), float(shift)
    return 1200 * math.log2((length + c) / (length + 2 * c))


def stretch_cents(
    scale: Number, height: Number, core: Number, tension: Number, modulus: Number = STEEL_MODULUS
) -> float:
    """How sharp the 12th fret is by the stretch of pressing the string down by `height`, in cents.

    `core` is the diameter that carries the tension (lbf); for a wound string its core. Height not
    below zero, the others above it, else TradeError. Stiffness at the ends adds more.
    Source: G. Byers 1996 for the cause; ΔL ≈ 2h²/L derived.
    """
    positive(scale, "the scale length")
    not_negative(height, "the height")
    positive(core, "the core")
    positive(tension, "the tension")
    positive(modulus, "the modulus")
    strain = 2 * float(height) ** 2 / float(scale) ** 2
    gained = float(modulus) * math.pi * float(core) ** 2 / 4 * strain
    return 600 * math.log2(1 + gained / float(tension))
