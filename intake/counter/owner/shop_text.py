"""shop.toml for editing: values change, comments and everything else stay."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from typing import Any

import tomlkit
from tomlkit import TOMLDocument

SHOP = "shop.toml"
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


def as_whole(typed: str) -> int | str:
    """A whole number, else the text, which the loader then refuses in its own words."""
    return int(typed) if typed.strip().isdecimal() else typed.strip()
