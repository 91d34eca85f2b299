"""What spreadsheets make of a CSV file: read where it can mean only one thing, else refused with a way out.

They write semicolons or tabs, decimal commas, UTF-16, curly quotes, dashes and dots of typesetters, TRUE in
their own language, 2.2E-05, and a date where somebody wrote a fraction.
"""

from __future__ import annotations

import re
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from decimal import Decimal
from functools import lru_cache

from babel import Locale

MONTHS_OF = ("en", "de", "fr", "es", "it", "nl", "pt", "sv", "da", "nb", "fi", "pl", "cs")
TRUE = ("true", "wahr", "vrai", "verdadero", "vero", "waar", "verdadeiro", "sant", "sand", "tosi", "prawda")
FALSE = ("false", "falsch", "faux", "falso", "onwaar", "falskt", "falsk", "epätosi", "fałsz")
_DAY_AND_MONTH = re.compile(r"(\d{1,2})[-./ ]{1,2}([^\W\d_]{3,})\.?(?:[-./ ]{1,2}\d{2,4})?")
_MONTH_AND_YEAR = re.compile(r"([^\W\d_]{3,})\.?[-./ ]{1,2}(?:\d\d)?(\d\d)")
_ISO = re.compile(r"\d\d(\d\d)-(\d{1,2})-(\d{1,2})(?:[ T].*)?")
_FIGURES = re.compile(r"(\d{1,2})([-./])(\d{1,2})\2\d{2,4}")
_COMMA = re.compile(r"[-+]?\d*,(\d+)")
_GROUPED = re.compile(r"[-+]?\d{1,3}(?:([.,'  ])\d{3})+(?!\1)[.,]\d+|[-+]?\d{1,3}(?:([.,'  ])\d{3}){2,}")
_POWER = re.compile(r"[-+]?\d+(?:[.,]\d+)?[eE][-+]?\d{1,2}")
_STRING = re.compile(r'("(?:[^"\\]|\\.)*")')
_WORD = re.compile(r"(?<![\w-])[^\W\d_]+(?![\w-])")
_SIGNS = str.maketrans(
    {**dict.fromkeys("“”„‟", '"'), **dict.fromkeys("–—−", "-"), "≤": "<=", "≥": ">=", "…": ".."}
)
_INTERVAL = re.compile(r"[\[\](][^\[\]()]*\.\.[^\[\]()]*[\])\[]")
_COMPARED = re.compile(r"([<>]=?\s*-?\d*),(\d+)(?![\d/])")
_BARE = re.compile(r"(?<![\d.,/])(-?\d+),(\d+)(?![\d.,/])")
_TWICE_ENCODED = re.compile(r"(?:Ã[\u0080-\u00ff€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ]|Â[\u00a0-\u00bf]|â€.?)")


class SpreadsheetError(ValueError):
    """A cell that a spreadsheet has changed; the message says how to mend it."""


def decode(content: bytes) -> str:
    """The file's text: UTF-8 with or without its mark, or UTF-16 with one. Raises UnicodeDecodeError."""
    if content.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        return content.decode("utf-16")
    return content.decode("utf-8-sig")


def separator(text: str) -> tuple[str, str]:
    """The sign between cells, and the text without the line `sep=;` that may name it."""
    first, _, rest = text.partition("\n")
    if named := re.fullmatch(r'"?sep=([,;\t])"?\s*', first):
        return named[1], rest
    line = next((line for line in text.splitlines() if line.strip()), "")
    bare = re.sub(r'"[^"]*"', "", line)
    return max(",;\t", key=bare.count), text


def number_text(cell: str, comma: bool) -> str:
    """A cell that holds a number, written with a point. `comma`: the file's numbers may have a comma.

    Raises SpreadsheetError for a date, and for a number that could be two.
    """
    clean = cell.strip().replace("−", "-")
    if mended := date_problem(clean):
        raise SpreadsheetError(mended)
    if match := _COMMA.fullmatch(clean):
        if comma or len(match[1]) != 3:
            return clean.replace(",", ".")
        point, whole = clean.replace(",", "."), clean.replace(",", "")
        raise SpreadsheetError(f"“{clean}” may be a thousand or a fraction; write {point} or {whole}.")
    if _GROUPED.fullmatch(clean):
        raise SpreadsheetError(f"“{clean}” groups its digits; write the number without, and with a point.")
    return plain_power(clean)


def plain_power(number: str) -> str:
    """`2.2E-05` as 0.000022; anything else as it is."""
    if not _POWER.fullmatch(number):
        return number
    return f"{Decimal(number.replace(',', '.')):f}"


def plain_tests(cell: str, comma: bool) -> str:
    """A decision table's test as its notation has it; what stands in straight quotes is left alone.

    Raises SpreadsheetError for a date, and for `3,5`, which may be one number or two.
    """
    if mended := date_problem(cell.strip()):
        raise SpreadsheetError(mended)
    if "“" in cell or "”" in cell or "„" in cell:
        cell = _straightened(cell)
    pieces = _STRING.split(cell)
    return "".join(piece if at % 2 else _plain_test(piece, comma) for at, piece in enumerate(pieces))


def _straightened(cell: str) -> str:
    pieces = _STRING.split(cell)
    return "".join(piece if at % 2 else piece.translate(_SIGNS) for at, piece in enumerate(pieces))


def _plain_test(piece: str, comma: bool) -> str:
    piece = _WORD.sub(lambda word: _truth(word[0]), piece.translate(_SIGNS))
    if not comma:
        return piece
    piece = _INTERVAL.sub(lambda inside: re.sub(r"(\d),(\d)", r"\1.\2", inside[0]), piece)
    piece = _COMPARED.sub(r"\1.\2", piece)
    for whole, part in _BARE.findall(piece):
        if not (part.startswith("0") and len(part) > 1):
            choice = f"write {whole}.{part}, or {whole}, {part} with a space"
            raise SpreadsheetError(f"“{whole},{part}” may be one number or two; {choice}.")
    return _BARE.sub(r"\1.\2", piece)


def _truth(word: str) -> str:
    """The truth values of a spreadsheet, which writes them in capitals; a small word may be an answer."""
    small = word.casefold()
    if not word.isupper() and small not in ("true", "false"):
        return word
    return "true" if small in TRUE else "false" if small in FALSE else word


def date_problem(cell: str) -> str:
    """What to do about a date where a number should be; "" for anything else."""
    meant = _fractions(cell)
    if not meant:
        return ""
    return (
        f"“{cell}” is a date: the spreadsheet has taken a fraction such as {' or '.join(meant)} for one. Set "
        "the column to “text” and type the fraction anew, or write it as a decimal."
    )


def _fractions(cell: str) -> tuple[str, ...]:
    """The fractions that a spreadsheet shows as this date; none for what is no date."""
    if match := _DAY_AND_MONTH.fullmatch(cell):
        month = _months().get(match[2].casefold())
        return _both(month, int(match[1])) if month else ()
    if match := _MONTH_AND_YEAR.fullmatch(cell):
        month = _months().get(match[1].casefold())
        return (f"{month}/{match[2]}",) if month else ()
    if match := _ISO.fullmatch(cell):
        year, month, day = match[1], int(match[2]), int(match[3])
        return (f"{month}/{year}",) if day == 1 else _both(month, day)
    if match := _FIGURES.fullmatch(cell):
        return _both(int(match[1]), int(match[3]))
    return ()


def _both(month: int, day: int) -> tuple[str, ...]:
    less, more = sorted((month, day))
    return tuple(dict.fromkeys((f"{less}/{more}", f"{more}/{less}")))


@lru_cache(maxsize=1)
def _months() -> dict[str, int]:
    """Names of months, full and short, in the languages that spreadsheets often speak."""
    names: dict[str, int] = {}
    for language in MONTHS_OF:
        for form in Locale.parse(language).months.values():
            for width in ("abbreviated", "wide"):
                for number, name in form[width].items():
                    names.setdefault(name.rstrip(".").casefold(), number)
    return names


def twice_encoded(cell: str) -> str:
    """What a cell said before it was read in the wrong encoding and saved so; "" if it is in order."""
    if not _TWICE_ENCODED.search(cell):
        return ""
    try:
        before = cell.encode("cp1252").decode("utf-8")
    except UnicodeError:
        return ""
    return before if before != cell else ""
