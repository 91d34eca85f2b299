"""What a document bears besides its content, and how it is printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Pictures = Sequence[tuple[str, bytes]]


@dataclass(frozen=True)
class DocumentOptions:
    """`url` is the ticket's address (without a token) and is printed as a QR code; `paper` is `letter` or
    `a4`; `photos` are captions and the bytes of JPEG, PNG or WebP files; `staff` may be empty."""

    number: str
    url: str
    staff: str = ""
    paper: str = "letter"
    language: str = "en"
    photos: Pictures = ()
    revision: int | None = None
