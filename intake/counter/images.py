"""Photos as they come in: looked at, decoded, written anew. What is stored is never what was sent."""

from __future__ import annotations

import io
import warnings

from PIL import Image, ImageOps

from intake.counter.words import _

LONGEST_SIDE = 1600
MOST_PIXELS = 40_000_000
QUALITY = 85
SIGNS = {b"\xff\xd8\xff": "JPEG", b"\x89PNG\r\n\x1a\n": "PNG", b"RIFF": "WEBP"}


class Refused(ValueError):
    """The photo cannot be taken; the message says why."""


def as_jpeg(content: bytes) -> tuple[bytes, int, int]:
    """A JPEG of at most 1600 px a side, upright, without any metadata; with its width and height.

    Raises Refused for anything but a whole JPEG, PNG or WebP picture of up to 40 million pixels.
    """
    kind = next((kind for sign, kind in SIGNS.items() if content.startswith(sign)), None)
    if kind is None:
        raise Refused(_("This is not a photo that can be read here. Send it as JPEG, PNG or WebP."))
    picture = _decoded(content, kind)
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    picture.info = {}  # the writer would carry comments and XMP over
    target = io.BytesIO()
    picture.save(target, "JPEG", quality=QUALITY, optimize=True)
    return target.getvalue(), picture.width, picture.height


def _decoded(content: bytes, kind: str) -> Image.Image:
    """Only the decoder of that kind runs, and the size is looked at before anything is decoded."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(content), formats=[kind])
            if picture.width * picture.height > MOST_PIXELS:
                raise Refused(
                    _("This photo has more than 40 million pixels. Take it with a smaller setting.")
                )
            picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            return ImageOps.exif_transpose(picture).convert("RGB")
    except Refused:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise Refused(
            _("This photo has more than 40 million pixels. Take it with a smaller setting.")
        ) from error
    except (OSError, ValueError, SyntaxError, EOFError, MemoryError) as error:
        raise Refused(_("This photo arrived damaged. Send it again.")) from error
