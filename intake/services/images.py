"""Photos as they come in: looked at, decoded, written anew. What is stored is never what was sent."""

from __future__ import annotations

import io
import warnings

from PIL import Image, ImageFile, ImageOps

from intake.i18n import N_, _
from intake.services.bounded_work import BoundedWork

LONGEST_SIDE = 1600
MOST_PIXELS = 40_000_000
MOST_PIXELS_AT_ONCE = 16_000_000
"""Of PNG and WebP, which decoders unfold whole; of JPEG they leave out what a small copy does not need. A
screenshot of the largest screens has 8 million."""
MOST_SEGMENTS = 500
"""Before a JPEG's first scan; a camera writes some dozens. Each takes the reader a turn in Python."""
MOST_SCANS = 100
MOST_WORK = 400_000_000
"""Pixels times scans: each scan goes over the whole picture. Ten scans of 40 million pixels are as much as a
camera asks for (from memory: a progressive JPEG has about ten), and take about a second."""
MOST_AT_ONCE = 10
"""Photos in one request. A phone sends one a request; the form without JavaScript may hold several."""
QUALITY = 85
SIGNS = {b"\xff\xd8\xff": "JPEG", b"\x89PNG\r\n\x1a\n": "PNG", b"RIFF": "WEBP"}
SCAN = b"\xff\xda"
"""A scan's first two bytes (ITU-T T.81, table B.1); a progressive JPEG has about ten. A thousand empty ones
weigh 60 kB and have the whole picture worked through a thousand times."""
HEIF = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1")
"""Brands of ISO/IEC 23008-12 at byte 8, as far as phones write them (from memory)."""
Picture = tuple[bytes, int, int]
"""A JPEG with its width and height in pixels."""
UNUSUAL = N_("This photo is not written as cameras do it. Send a screenshot of it instead.")
DECODING = BoundedWork(running=1, waiting=3)
"""One picture is decoded at a time: the largest takes some 300 MB."""


class ImageError(ValueError):
    """The photo cannot be taken; the message says why."""


def as_jpeg(content: bytes) -> Picture:
    """A JPEG of at most 1600 px a side, upright, without any metadata; with its width and height.

    Raises ImageError for anything but a whole JPEG, PNG or WebP picture of up to 40 million pixels (16 of the
    last two), and OverloadedError where too many wait to be decoded.
    """
    kind = _kind(content)
    with DECODING.turn():
        return _written_anew(content, kind)


def _kind(content: bytes) -> str:
    """By its first bytes, whatever the file is called. Raises Refused."""
    kind = next((kind for sign, kind in SIGNS.items() if content.startswith(sign)), None)
    if kind is None and content[4:8] == b"ftyp" and content[8:12] in HEIF:
        raise ImageError(
            _("This is a HEIC photo, which cannot be read here. Set the camera to JPEG or send a screenshot.")
        )
    if kind is None:
        raise ImageError(_("This is not a photo that can be read here. Send it as JPEG, PNG or WebP."))
    if kind == "JPEG" and (content.count(SCAN) > MOST_SCANS or not _has_few_segments(content)):
        raise ImageError(_(UNUSUAL))
    return kind


def _has_few_segments(content: bytes) -> bool:
    """Whether a JPEG comes to its first scan within as many segments (ITU-T T.81, B.1.1.2 to B.1.1.4)."""
    at = len(b"\xff\xd8")
    for _turn in range(MOST_SEGMENTS):
        if content[at : at + 2] == SCAN or at + 4 > len(content):
            return True
        fills = content[at : at + 2] == b"\xff\xff"
        at += 1 if fills else 2 + int.from_bytes(content[at + 2 : at + 4], "big")
    return False


def _written_anew(content: bytes, kind: str) -> Picture:
    picture = _decoded(content, kind)
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    picture.info = {}  # the writer would carry comments and XMP over
    target = io.BytesIO()
    picture.save(target, "JPEG", quality=QUALITY, optimize=True)
    return target.getvalue(), picture.width, picture.height


def _decoded(content: bytes, kind: str) -> Image.Image:
    """Only the decoder of that kind runs, and the size is looked at before anything is decoded.

    Half a picture is refused even where another library (WeasyPrint does) told the decoders to take one.
    """
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(content), formats=[kind])
            most = MOST_PIXELS if kind == "JPEG" else MOST_PIXELS_AT_ONCE
            if picture.width * picture.height > most:
                raise _too_many_pixels(most)
            if kind == "JPEG" and content.count(SCAN) * picture.width * picture.height > MOST_WORK:
                raise ImageError(_(UNUSUAL))
            picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            return _rgb(ImageOps.exif_transpose(picture))
    except ImageError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_many_pixels(MOST_PIXELS) from error
    except (OSError, ValueError, SyntaxError, EOFError, MemoryError) as error:
        raise ImageError(_("This photo arrived damaged. Send it again.")) from error


def _too_many_pixels(most: int) -> ImageError:
    return ImageError(
        _(
            "This photo has more than {number} million pixels. Take it with a smaller setting.",
            number=most // 10**6,
        )
    )


def _rgb(picture: Image.Image) -> Image.Image:
    """In colours of 8 bits; greys of 16 would all come out white."""
    if picture.mode.startswith("I;16"):
        picture = picture.convert("I").point(lambda grey: grey * (1 / 257)).convert("L")
    if picture.has_transparency_data:
        picture = picture.convert("RGBA")
    return picture.convert("RGB")
