"""Measures as people write them, to exact fractions and back.

Units: in, mm, cm, ft, thou, F, C, %, deg, cents, lbf, N, h, min, and "" for a count.
The inch is 25.4 mm by the international agreement of 1959; the pound-force follows from the
pound of 0.45359237 kg and the standard gravity of 9.80665 m/s2.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from functools import lru_cache

from intake.i18n import N_, _

SCALE: dict[str, tuple[str, Fraction]] = {
    "in": ("length", Fraction(1)),
    "ft": ("length", Fraction(12)),
    "mm": ("length", Fraction(5, 127)),
    "cm": ("length", Fraction(50, 127)),
    "thou": ("length", Fraction(1, 1000)),
    "lbf": ("force", Fraction(1)),
    "N": ("force", 1 / (Fraction("0.45359237") * Fraction("9.80665"))),
    "h": ("time", Fraction(1)),
    "min": ("time", Fraction(1, 60)),
    "%": ("share", Fraction(1)),
    "deg": ("angle", Fraction(1)),
    "cents": ("pitch", Fraction(1)),
    "": ("count", Fraction(1)),
    "F": ("temperature", Fraction(1)),
    "C": ("temperature", Fraction(9, 5)),
}
NAMES: dict[str, tuple[str, ...]] = {
    "in": ("in", "in.", "inch", "inches", '"', "''"),
    "ft": ("ft", "ft.", "foot", "feet", "'"),
    "mm": ("mm", "mm.", "millimeter", "millimeters", "millimetre", "millimetres"),
    "cm": ("cm", "cm.", "centimeter", "centimeters", "centimetre", "centimetres"),
    "thou": ("thou", "thousandth", "thousandths", "thou in"),
    "F": ("f", "°f", "° f", "deg f", "degf", "degrees f", "fahrenheit", "degrees fahrenheit"),
    "C": ("c", "°c", "° c", "deg c", "degc", "degrees c", "celsius", "degrees celsius"),
    "%": ("%", "percent", "per cent", "pct", "% rh", "%rh", "rh", "percent rh"),
    "deg": ("deg", "deg.", "°", "degree", "degrees"),
    "cents": ("cents", "cent", "ct", "ct."),
    "lbf": ("lbf", "lb", "lb.", "lbs", "lbs.", "pounds", "pound"),
    "N": ("n", "newton", "newtons"),
    "h": ("h", "h.", "hr", "hrs", "hr.", "hour", "hours"),
    "min": ("min", "min.", "mins", "minute", "minutes"),
}
UNIT_OF = {name: unit for unit, names in NAMES.items() for name in names}
LOOKALIKES = str.maketrans(
    {
        "\u2212": "-", "\u2013": "-", "\u2012": "-", "\u2010": "-", "\u2011": "-",
        "\ufe63": "-", "\uff0d": "-",
        "\u2044": "/", "\u2215": "/",
        "\u2032": "'", "\u2019": "'", "\u2018": "'", "\u00b4": "'",
        "\u2033": '"', "\u201d": '"', "\u201c": '"', "\u201f": '"',
        "\u00ba": "°", "\u02da": "°", "\u2103": "°C", "\u2109": "°F", "\uff05": "%", "\u066a": "%",
    }
)  # fmt: skip
LONGEST = 40
UNREADABLE = N_("“{typed}” cannot be read as a measure.")
DECIMAL = r"(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
NUMBER = re.compile(
    rf"(?:(?P<whole>[0-9]+)(?:\s+|-|\s*\+\s*))?(?P<top>{DECIMAL})\s*/\s*(?P<bottom>[0-9]+)"
    rf"(?P<part>\s*(?:ths?|nds?|rds?)\b)?"
    rf"|(?P<parts>{DECIMAL})\s+(?P<size>2|4|8|16|32|64|128)(?:ths?|nds?)\b"
    rf"|(?P<plain>{DECIMAL})[.]?"
)


class MeasureError(ValueError):
    """What was typed is no measure in this unit; the message is one sentence for the person who typed it."""


@lru_cache(maxsize=4096)
def parse_measure(text: str, unit: str) -> Fraction:
    """The measure in `unit`, exactly.

    Reads decimals (point or comma, `.010`), fractions (`5/64`, `6.5/64 in`, `8/64ths`), mixed numbers
    (`2 1/2`, `2-1/2`, `2½`), a leading sign, any unit of the same kind, `thou`, and feet with inches.
    Without a unit the number is in `unit`; 64ths and 32nds named as such are of an inch.
    Raises MeasureError, and KeyError for a `unit` that is not in this module.
    """
    kind = SCALE[unit][0]
    plain = _plain(text)
    if not plain:
        raise MeasureError(_("Nothing was typed."))
    if len(plain) > LONGEST:
        raise MeasureError(_("“{typed}…” is too long to be a measure.", typed=plain[:LONGEST]))
    sign, rest = _sign(plain)
    total, previous = Fraction(0), None
    while rest:
        value, found, rest = _one(rest, unit, text)
        if previous is not None and (previous, found) not in {("ft", "in"), ("h", "min")}:
            raise MeasureError(_(UNREADABLE, typed=text.strip()))
        if SCALE[found][0] != kind:
            raise MeasureError(
                _(
                    "“{typed}” is in {found}, but {wanted} are wanted here.",
                    typed=text.strip(),
                    found=_called(found),
                    wanted=_called(unit),
                )
            )
        total += convert(sign * value, found, unit)
        previous = found
    if previous is None:
        raise MeasureError(_(UNREADABLE, typed=text.strip()))
    return total


def _plain(text: str) -> str:
    """One spelling for all: one kind of minus, slash, prime and space; vulgar fractions spelled out."""
    spelled = "".join(_spell(character) for character in text.translate(LOOKALIKES))
    return " ".join(spelled.split()).replace("/ ", "/").replace(" /", "/")


def _spell(character: str) -> str:
    parts = unicodedata.decomposition(character).split()
    if parts[:1] == ["<fraction>"]:
        digits = "".join(chr(int(code, 16)) for code in parts[1:]).replace("\u2044", "/")
        return f" {digits} "
    return character


def _sign(plain: str) -> tuple[int, str]:
    if plain[0] in "+-":
        return (-1 if plain[0] == "-" else 1), plain[1:].lstrip()
    return 1, plain


def _one(rest: str, unit: str, text: str) -> tuple[Fraction, str, str]:
    """One number with its unit from the front of `rest`: value, unit, what follows."""
    match = NUMBER.match(rest)
    if not match:
        raise MeasureError(_(UNREADABLE, typed=text.strip()))
    value, of_an_inch = _number(match, unit, text)
    after = rest[match.end() :].lstrip()
    word = re.match(r"[^0-9.,+-]*(?:\.(?![0-9]))?", after)
    name = word.group().strip() if word else ""
    found = UNIT_OF.get(name.lower()) or UNIT_OF.get(_of_an_inch(name))
    if name and found is None:
        raise MeasureError(
            _("“{typed}” has a unit that is not known here: “{unit}”.", typed=text.strip(), unit=name)
        )
    if found == "deg" and SCALE[unit][0] == "temperature":
        found = unit
    if found is None:
        found = "in" if of_an_inch and SCALE[unit][0] == "length" else unit
    return value, found, after[word.end() if word else 0 :].lstrip()


def _of_an_inch(name: str) -> str:
    return name.lower().removeprefix("of an ").removeprefix("of a ").strip()


def _number(match: re.Match[str], unit: str, text: str) -> tuple[Fraction, bool]:
    if match["parts"]:
        return _decimal(match["parts"], unit, text) / int(match["size"]), True
    if match["plain"]:
        return _decimal(match["plain"], unit, text), False
    if int(match["bottom"]) == 0:
        raise MeasureError(_("“{typed}” divides by zero.", typed=text.strip()))
    whole = Fraction(match["whole"] or 0)
    if match["whole"] and not match["top"].isdigit():
        raise MeasureError(_(UNREADABLE, typed=text.strip()))
    return whole + _decimal(match["top"], unit, text) / int(match["bottom"]), bool(match["part"])


def _decimal(digits: str, unit: str, text: str) -> Fraction:
    if unit == "" and re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", digits):
        raise MeasureError(_("“{typed}” can be read two ways; leave the comma out.", typed=text.strip()))
    return Fraction(digits.replace(",", "."))


def _called(unit: str) -> str:
    names = {
        "in": _("inches"), "mm": _("millimetres"), "cm": _("centimetres"), "ft": _("feet"),
        "thou": _("thousandths of an inch"),
        "F": _("degrees Fahrenheit"), "C": _("degrees Celsius"), "%": _("percent"), "deg": _("degrees"),
        "cents": _("cents"), "lbf": _("pounds of force"), "N": _("newtons"), "h": _("hours"),
        "min": _("minutes"), "": _("plain numbers"),
    }  # fmt: skip
    return names[unit]


def read_in(text: str, typed_in: str, unit: str) -> Fraction:
    """`parse_measure` where a bare number is in `typed_in`, as a measure in `unit`. Raises as it does."""
    value = parse_measure(text, typed_in)
    return value if typed_in == unit else convert(value, typed_in, unit)


def convert(value: Fraction, from_unit: str, to_unit: str) -> Fraction:
    """The same measure in another unit of its kind, exactly. Raises MeasureError between kinds."""
    (kind, scale), (other_kind, other_scale) = SCALE[from_unit], SCALE[to_unit]
    if kind != other_kind:
        raise MeasureError(f"{_called(from_unit).capitalize()} cannot become {_called(to_unit)}.")
    if kind == "temperature":
        fahrenheit = value * scale + (32 if from_unit == "C" else 0)
        return (fahrenheit - (32 if to_unit == "C" else 0)) / other_scale
    return value * scale / other_scale


METRIC = {"in": "mm", "thou": "mm", "ft": "cm", "F": "C", "lbf": "N"}


def show_metric(value: Fraction, unit: str) -> str:
    """`show_measure` in the metric unit of its kind; what has none, or is metric, as it is."""
    shown = METRIC.get(unit, unit)
    return show_measure(convert(value, unit, shown) if shown != unit else value, shown)


def show_measure(value: Fraction, unit: str, style: str = "") -> str:
    """The measure as people write it; `parse_measure` reads it back in the same unit.

    Styles for lengths: `64ths` ("6.5/64 in", to a tenth of a 64th), `32nds` and `fraction` (lowest
    fraction of an inch by halves, thousandths where there is none), `thou` ("0.008 in"), `mm`
    ("2.4 mm"). Without a style a length in inches is a fraction where it is one exactly, else
    thousandths; other units take the decimals that a bench can hold.
    """
    if SCALE[unit][0] == "length" and (style or unit in ("in", "thou")):
        if style == "mm":
            return f"{_trimmed(convert(value, unit, 'mm'), 2)} mm"
        return _inches(convert(value, unit, "in"), style)
    decimals = {"mm": 2, "cm": 2, "ft": 2, "lbf": 1, "N": 1, "h": 2, "min": 0, "": 3}.get(unit, 1)
    number = _trimmed(value, decimals)
    spelled = {"F": " °F", "C": " °C", "deg": "°", "": ""}
    return number + spelled.get(unit, f" {unit}")


def _inches(value: Fraction, style: str) -> str:
    if style == "64ths":
        return f"{_trimmed(value * 64, 1)}/64 in" if value else "0 in"
    if style != "thou" and 64 % value.denominator == 0:
        return f"{_mixed(value)} in"
    if abs(value) >= 1 and style != "thou":
        return f"{_trimmed(value, 3)} in"
    return f"{_rounded(value, 3)} in"


def _mixed(value: Fraction) -> str:
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(value), 1)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"


def _rounded(value: Fraction, decimals: int) -> str:
    """Half-even, always with that many decimals, never a negative zero."""
    scaled = round(value * 10**decimals)
    sign = "-" if scaled < 0 else ""
    whole, rest = divmod(abs(scaled), 10**decimals)
    return f"{sign}{whole}.{rest:0{decimals}d}" if decimals else f"{sign}{whole}"


def _trimmed(value: Fraction, decimals: int) -> str:
    shown = _rounded(value, decimals)
    return shown.rstrip("0").rstrip(".") if "." in shown else shown
