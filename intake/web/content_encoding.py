"""Content encodings of HTTP: Brotli where the browser takes it (over https), else gzip, else as it is."""

from __future__ import annotations

import gzip
from collections.abc import Callable
from typing import NamedTuple

import brotli
from flask import Response, request


class Packing(NamedTuple):
    """An encoding by its HTTP name, and how text gets it: `effort` 0 for while somebody waits, 1 for ever."""

    name: str
    pack: Callable[[bytes, int], bytes]


GZIP = Packing("gzip", lambda text, effort: gzip.compress(text, (6, 9)[effort], mtime=0))
BROTLI = Packing("br", lambda text, effort: brotli.compress(text, quality=(5, 11)[effort]))
PACKINGS = (BROTLI, GZIP)


def wanted() -> Packing | None:
    """The best packing that this request's browser takes."""
    return next((one for one in PACKINGS if one.name in request.accept_encodings), None)


def label(answer: Response, packing: Packing | None) -> None:
    """Say how the answer is packed, and that it depends on who asks."""
    answer.vary.add("Accept-Encoding")
    if packing:
        answer.headers["Content-Encoding"] = packing.name
