"""A book's folder as a zip from outside: read within bounds, and never trusted to name a place."""

from __future__ import annotations

import io
import lzma
import re
import struct
import sys
import zipfile
import zlib
from pathlib import PurePosixPath

from intake.book.files.spreadsheet import decode
from intake.book.plain_text import is_plain
from intake.i18n import _

MOST_FILES = 500
MOST_ENTRIES = 2000
"""With folders and what systems put beside the files; more are not even listed."""
MOST_BYTES = 20_000_000
ENTRY = b"PK\x01\x02"
"""What each entry of a zip's directory begins with (APPNOTE 4.3.12), whatever number its end claims."""
ESCAPED = re.compile(r"\\u([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})")
NAME = re.compile(r"[\w][\w .+-]*")
LONGEST_NAME = 100


BROKEN = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, OSError, EOFError, NotImplementedError, RuntimeError,
    ValueError, KeyError, struct.error,
)  # fmt: skip
"""What zipfile and the packings in it raise for bytes that are none of theirs."""


class ZipError(Exception):
    """Why the zip is no book: one sentence."""


def read_zip(content: bytes) -> dict[str, bytes]:
    """The files of a book's folder, without the one folder that may be around it. Raises ZipRefused."""
    if content.count(ENTRY) > MOST_ENTRIES:
        raise ZipError(_("This zip holds more files than a price book has."))
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            files = _files(archive)
    except BROKEN as error:
        raise ZipError(_("This is not a zip that can be read.")) from error
    _refuse_hidden_signs(files)
    return _without_top(files)


def _files(archive: zipfile.ZipFile) -> dict[str, bytes]:
    entries = [entry for entry in archive.infolist() if not entry.is_dir() and not _hidden(entry.filename)]
    if len(entries) > MOST_FILES:
        raise ZipError(_("This zip holds more files than a price book has."))
    files: dict[str, bytes] = {}
    room = MOST_BYTES
    for entry in entries:
        _check(entry, files)
        with archive.open(entry) as source:
            files[entry.filename] = source.read(room + 1)
        room -= len(files[entry.filename])
        if room < 0:
            raise ZipError(_("What this zip holds is too large to be a price book."))
    return files


def _refuse_hidden_signs(files: dict[str, bytes]) -> None:
    """What nobody sees on a page has no place in a price book, as it stands or escaped as TOML does it."""
    for name, content in files.items():
        try:
            text = decode(content)
        except UnicodeDecodeError:  # the loader says which row
            continue
        codes = [int(four or eight, 16) for four, eight in ESCAPED.findall(text)]
        escaped = (chr(code) for code in codes if code <= sys.maxunicode)
        if not (is_plain(text) and all(map(is_plain, escaped))):
            raise ZipError(
                _(
                    "“{name}” has signs that nobody sees: control characters, or marks that turn the "
                    "direction of writing.",
                    name=name,
                )
            )


def _hidden(name: str) -> bool:
    """What operating systems put beside the files."""
    return name.startswith("__MACOSX/") or PurePosixPath(name).name.startswith(".")


def _check(entry: zipfile.ZipInfo, known: dict[str, bytes]) -> None:
    """`orig_filename` has what zipfile cuts off a name: all behind a NUL."""
    name = entry.filename
    pieces = entry.orig_filename.split("/")
    if len(pieces) > 4 or len(name) > LONGEST_NAME or not all(NAME.fullmatch(piece) for piece in pieces):
        raise ZipError(_("“{name}” is not the name of a file of a price book.", name=name[:100]))
    if name.lower() in {other.lower() for other in known}:
        raise ZipError(_("“{name}” stands twice in this zip.", name=name[:100]))
    if any(name.startswith(f"{other}/") or other.startswith(f"{name}/") for other in known):
        raise ZipError(_("“{name}” is a file and a folder in this zip.", name=name[:100]))


def _without_top(files: dict[str, bytes]) -> dict[str, bytes]:
    tops = {name.split("/")[0] for name in files}
    if "shop.toml" in files or len(tops) != 1:
        return files
    return {name.partition("/")[2]: content for name, content in files.items() if "/" in name}
