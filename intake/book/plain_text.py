"""The one way in for words: what people type keeps its letters and loses the signs that only deceive.

Left out are control characters but tab and line ends (NUL among them), overrides and isolates of the
direction of writing (Unicode TR 36: they make words read as others), invisible tags, half characters and code
points that are none. Marks that Arabic, Hebrew and Indic writing and emoji need stay.
"""

from __future__ import annotations

import re
import unicodedata

DECEIVING = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f"  # controls (Cc) but tab, line feed and carriage return
    "\u202a-\u202e\u2066-\u2069"  # embedding, override, isolate
    "\u206a-\u206f\ufff9-\ufffb\ufeff"  # deprecated formats, annotations, a mark of byte order
    "\ud800-\udfff"  # half of a pair
    "\ufdd0-\ufdef\ufffe\uffff"  # no characters
    "\U000e0000-\U000e007f]"  # tags
)
LINE_ENDS = re.compile("[\u0085\u2028\u2029]")


def plain(text: str) -> str:
    """The words without what deceives; Unicode's own line ends become line feeds."""
    return DECEIVING.sub("", LINE_ENDS.sub("\n", text))


FILLERS = "\u115f\u1160"
"""Letters by their class that show nothing (after NFKC, which makes U+3164 and U+FFA0 one of them)."""


def can_be_read(text: str) -> bool:
    """Whether it has a letter or a digit that somebody sees."""
    folded = unicodedata.normalize("NFKC", text)
    return any(sign.isalnum() and sign not in FILLERS for sign in folded)


def is_plain(text: str) -> bool:
    """Whether nothing would be left out."""
    return not DECEIVING.search(text)
