"""shop.toml for editing: values change, comments and everything else stay."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from typing import Any

import tomlkit
from tomlkit import TOMLDocument

from intake.i18n import N_
from intake.web.numbers import whole_number

SHOP = "shop.toml"
NAMES = {
    "labour_rate": N_("Labour rate, an hour"),
    "minimum": N_("Least that a ticket costs"),
    "parts_markup": N_("Added to the cost of parts"),
    "supplies_rate": N_("Supplies, as a share of the labour"),
    "supplies_most": N_("Supplies, at most"),
    "rounding": N_("Totals are rounded to"),
    "rounding_way": N_("Rounded"),
    "deposit_rate": N_("Deposit"),
    "deposit_from": N_("No deposit under"),
    "valid_days": N_("A quote is good for"),
    "answer_days": N_("Days to answer that the second date assumes"),
    "worth_warning": N_("Warn when work costs more than this share of the instrument’s worth"),
    "discount_most": N_("Discount that staff may give, at most"),
    "mon": N_("Monday"),
    "tue": N_("Tuesday"),
    "wed": N_("Wednesday"),
    "thu": N_("Thursday"),
    "fri": N_("Friday"),
    "sat": N_("Saturday"),
    "sun": N_("Sunday"),
    "productive_share": N_("Share of these hours spent at the bench"),
    "closed": N_("Closed days"),
    "region": N_("Public holidays of"),
}
"""What forms and history call the keys."""
BOM = b"\xef\xbb\xbf"


def edited(content: bytes, edit: Callable[[TOMLDocument], None]) -> bytes:
    """The file after the edit, in the line ends that it had. Raises tomlkit's ParseError."""
    mark = BOM if content.startswith(BOM) else b""
    text = content.removeprefix(mark).decode()
    end = "\r\n" if "\r\n" in text else "\n"
    document = tomlkit.parse(text.replace("\r\n", "\n"))
    edit(document)
    return mark + tomlkit.dumps(document).replace("\n", end).encode()


def values(content: bytes) -> dict[str, Any]:
    """The file's values as plain Python."""
    return tomlkit.parse(content.removeprefix(BOM).decode().replace("\r\n", "\n")).unwrap()


def put(table: Any, key: str, shown: str, typed: str, value: Any) -> None:
    """Write the value if what was typed is not what was shown; nothing typed takes the key out."""
    if typed.strip() == shown.strip():
        return
    if typed.strip():
        table[key] = value
    elif key in table:
        del table[key]


def plain(value: Any) -> str:
    """A value as a field shows it."""
    return "" if value is None else str(value)


def percent(value: Any) -> str:
    """A share as people read it: 0.08 and `8 %` are 8; what is neither stands as it is."""
    text = plain(value).strip()
    if text.endswith("%") or not text:
        return text.removesuffix("%").strip()
    try:
        return f"{(Decimal(text) * 100).normalize():f}"
    except InvalidOperation:
        return text


def as_amount(typed: str) -> str:
    """A number as the book writes it: with a point."""
    text = typed.strip()
    return text.replace(",", ".") if text.count(",") == 1 and "." not in text else text


def as_percent(typed: str) -> str:
    """`8`, `8 %` and `8,5` as the book writes a share."""
    return f"{as_amount(typed.strip().removesuffix('%').strip())} %"


def is_more(text: str, most: int) -> bool:
    """Whether the text is a number above that; any other text is for the loader to refuse."""
    try:
        return Decimal(text) > most
    except InvalidOperation:
        return False


def as_whole(typed: str) -> int | str:
    """A whole number, else the text, which the loader then refuses in its own words."""
    number = whole_number(typed)
    return typed.strip() if number is None else number
