"""Readings of top, back, wood and moisture.

Woods come as rows of woods.csv in `woods_table`; the species from `top_wood`, `back_wood`,
`board_wood`, `bridge_wood`, else from the book's `default_top_wood` and so on. Top and back are taken
as quarter-sawn (radial), fingerboard and bridge as flat-sawn (tangential: the most they move).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from intake.trade import wood
from intake.trade.checked import Number, not_negative, positive
from intake.trade.errors import TradeError
from intake.trade.geometry import sagitta
from intake.trade.registry import reading

Rows = Sequence[Mapping[str, str]]
HUMID = "Hailwood-Horrobin with the coefficients of USDA FPL-RN-0268, 1998"
MOVES = "Wood Handbook, FPL-GTR-190, ch. 13, Eq. 13-2 and 13-3"
PRACTICE = "common practice, no source"


def coefficient(woods: Rows, species: str | None, direction: str) -> Fraction:
    """Movement of a species for each % of moisture. TradeError where the table does not have it."""
    for row in woods:
        if row["id"] == species and row.get(direction):
            return Fraction(row[direction])
    raise TradeError("how this wood moves is not known")


@reading("wood_moisture", unit="%", resolution="0.01", source=HUMID, low="0", high="30")
def wood_moisture(
    room_rh: Fraction, room_temp: Fraction | None = None, default_room_temp: Fraction | None = None
) -> float | None:
    """Moisture content of wood at rest in the room's air."""
    temperature = room_temp if room_temp is not None else default_room_temp
    return None if temperature is None else wood.moisture(temperature, room_rh)


@reading("shop_moisture", unit="%", resolution="0.01", source=HUMID, low="0", high="30")
def shop_moisture(
    shop_rh: Fraction | None = None,
    shop_temp: Fraction | None = None,
    default_shop_rh: Fraction | None = None,
    default_shop_temp: Fraction | None = None,
) -> float | None:
    """Moisture content of wood at rest in the shop's air."""
    humidity = shop_rh if shop_rh is not None else default_shop_rh
    temperature = shop_temp if shop_temp is not None else default_shop_temp
    return None if humidity is None or temperature is None else wood.moisture(temperature, humidity)


@reading("moisture_change", unit="%", resolution="0.01", source=HUMID, low="-25", high="25")
def moisture_change(wood_moisture: Fraction, shop_moisture: Fraction) -> Fraction:
    """From the room's air to the shop's: positive where the wood takes up water."""
    return shop_moisture - wood_moisture


def _classes(*own: Fraction | None) -> tuple[Fraction, ...]:
    """The book's bounds of very dry, dry, damp and wet air, each in place of ours."""
    return tuple(usual if given is None else given for given, usual in zip(own, wood.CLASSES, strict=True))


@reading("moisture_class", unit="", resolution="1", source=PRACTICE, low="-2", high="2")
def moisture_class(
    room_rh: Fraction,
    very_dry_under: Fraction | None = None,
    dry_under: Fraction | None = None,
    damp_over: Fraction | None = None,
    wet_over: Fraction | None = None,
) -> int:
    """−2 very dry, −1 dry, 0 right, 1 damp, 2 wet, by the room's air."""
    return wood.humidity_class(room_rh, _classes(very_dry_under, dry_under, damp_over, wet_over))


@reading("days_to_condition", unit="", resolution="1", source=PRACTICE, low="0", high="30")
def days_to_condition(
    room_rh: Fraction,
    shop_rh: Fraction | None = None,
    default_shop_rh: Fraction | None = None,
    very_dry_under: Fraction | None = None,
    dry_under: Fraction | None = None,
    damp_over: Fraction | None = None,
    wet_over: Fraction | None = None,
    rh_a_day: Fraction | None = None,
    days_from_dry: Fraction | None = None,
    days_from_very_dry: Fraction | None = None,
) -> int | None:
    """Days in the shop's air before anything is measured again; 0 in the right class.

    The book's `rh_a_day` and `days_from_…` (damp and wet count alike) before the usual ones.
    """
    shop = shop_rh if shop_rh is not None else default_shop_rh
    classes = _classes(very_dry_under, dry_under, damp_over, wet_over)
    daily = wood.DAILY if rh_a_day is None else rh_a_day
    own = {1: days_from_dry, 2: days_from_very_dry}
    least = wood.LEAST_DAYS | {step: days for step, days in own.items() if days is not None}
    return None if shop is None else wood.days_to_condition(room_rh, shop, classes, daily, least)


@reading("top_movement", unit="in", resolution="0.0001", source=MOVES, low="-0.5", high="0.5")
def top_movement(
    lower_bout_width: Fraction,
    wood_moisture: Fraction,
    shop_moisture: Fraction,
    woods_table: Rows,
    top_wood: str | None = None,
    default_top_wood: str | None = None,
) -> Number:
    """What the top gains (positive) or loses across the lower bout from room to shop, unrestrained."""
    across = coefficient(woods_table, top_wood or default_top_wood, "radial")
    return wood.movement(lower_bout_width, across, wood_moisture, shop_moisture)


@reading("back_movement", unit="in", resolution="0.0001", source=MOVES, low="-0.5", high="0.5")
def back_movement(
    lower_bout_width: Fraction,
    wood_moisture: Fraction,
    shop_moisture: Fraction,
    woods_table: Rows,
    back_wood: str | None = None,
    default_back_wood: str | None = None,
) -> Number:
    """What the back gains or loses across the lower bout from room to shop, unrestrained."""
    across = coefficient(woods_table, back_wood or default_back_wood, "radial")
    return wood.movement(lower_bout_width, across, wood_moisture, shop_moisture)


@reading("board_movement", unit="in", resolution="0.0001", source=MOVES, low="-0.2", high="0.2")
def board_movement(
    default_board_width: Fraction,
    wood_moisture: Fraction,
    shop_moisture: Fraction,
    woods_table: Rows,
    board_wood: str | None = None,
    default_board_wood: str | None = None,
) -> Number:
    """What the fingerboard gains or loses across the book's width from room to shop, at most."""
    across = coefficient(woods_table, board_wood or default_board_wood, "tangential")
    return wood.movement(default_board_width, across, wood_moisture, shop_moisture)


@reading("bridge_movement", unit="in", resolution="0.0001", source=MOVES, low="-0.2", high="0.2")
def bridge_movement(
    default_bridge_width: Fraction,
    wood_moisture: Fraction,
    shop_moisture: Fraction,
    woods_table: Rows,
    bridge_wood: str | None = None,
    default_bridge_wood: str | None = None,
) -> Number:
    """What the bridge gains or loses front to back from room to shop, at most."""
    across = coefficient(woods_table, bridge_wood or default_bridge_wood, "tangential")
    return wood.movement(default_bridge_width, across, wood_moisture, shop_moisture)


@reading("top_taper", unit="in", resolution="0.0001", source="difference", low="-0.1", high="0.1")
def top_taper(top_at_bridge: Fraction, top_at_edge: Fraction) -> Fraction:
    """How much thicker the top is at the bridge than at the edge."""
    positive(top_at_edge, "the thickness")
    return top_at_bridge - top_at_edge


@reading("vibrating_width", unit="in", resolution="0.0001", source="difference", low="2", high="20")
def vibrating_width(lower_bout_width: Fraction, lining_width: Fraction) -> Fraction:
    """What of the lower bout can move: its width less both linings."""
    not_negative(lining_width, "the lining")
    width = lower_bout_width - 2 * lining_width
    positive(width, "the vibrating width")
    return width


@reading("vibrating_share", unit="ratio", resolution="0.001", source="ratio", low="0", high="1")
def vibrating_share(vibrating_width: Fraction, lower_bout_width: Fraction) -> Fraction:
    """The part of the lower bout that can move."""
    return vibrating_width / lower_bout_width


@reading("top_map_taper", unit="in", resolution="0.0001", source="difference", low="-0.2", high="0.2")
def top_map_taper(top_map: Mapping[str, Fraction]) -> Fraction:
    """How much thicker the top is at the bridge than at its thinnest place of the map."""
    others = [depth for place, depth in top_map.items() if place != "bridge"]
    if "bridge" not in top_map or len(others) < 4:
        raise TradeError("the map needs the bridge and four places more")
    return top_map["bridge"] - min(others)


@reading("back_rise", unit="in", resolution="0.0001", source="plane geometry", low="0", high="1")
def back_rise(back_radius: Fraction, lower_bout_width: Fraction) -> float:
    """How far a back of this radius (ft) rises over the width of the lower bout."""
    return sagitta(back_radius * 12, lower_bout_width)
