"""The only door through which a document may load anything.

Allowed: `tallyfret:/…`, a file under our own static folder, and `data:` images, which are decoded,
turned upright, shrunk and encoded again, so that no metadata (a phone's place, say) reaches the paper.
Everything else, whatever its scheme, is refused before anything is opened. No redirect is followed,
because nothing is asked of the network.
"""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path
from urllib.parse import unquote, unquote_to_bytes, urlsplit

from PIL import Image, ImageOps
from weasyprint.urls import URLFetcher, URLFetcherResponse

SCHEME = "tallyfret"
PHOTO_SIDE = 1400
PHOTO_QUALITY = 80
STATIC_TYPES = {".woff2": "font/woff2", ".css": "text/css", ".png": "image/png", ".svg": "image/svg+xml"}
_DATA_IMAGE = re.compile(r"data:image/(?:jpeg|png|webp);base64,", re.IGNORECASE)


class OwnFilesOnly(URLFetcher):
    """Serves static files and photos; raises ValueError for every other address."""

    def __init__(self, static: Path) -> None:
        super().__init__(allowed_protocols=(SCHEME, "data"), allow_redirects=False)
        self._static = static.resolve()

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
        """The file or image at `url`; `headers` are never sent, since nothing is sent."""
        if url.lower().startswith(SCHEME + ":"):
            return self._static_file(url)
        if _DATA_IMAGE.match(url):
            return self._photo(url)
        raise ValueError(f"not one of our own files: {url[:80]}")

    def _static_file(self, url: str) -> URLFetcherResponse:
        path = (self._static / unquote(urlsplit(url).path).lstrip("/")).resolve()
        if not path.is_relative_to(self._static) or path.suffix not in STATIC_TYPES:
            raise ValueError(f"not one of our own files: {url[:80]}")
        return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": STATIC_TYPES[path.suffix]})

    def _photo(self, url: str) -> URLFetcherResponse:
        data = _decode(url.split(",", 1)[1])
        with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as image:
            image.draft("RGB", (PHOTO_SIDE, PHOTO_SIDE))
            upright = ImageOps.exif_transpose(image).convert("RGB")
        upright.thumbnail((PHOTO_SIDE, PHOTO_SIDE))
        for key in ("exif", "xmp", "comment", "photoshop", "icc_profile"):
            upright.info.pop(key, None)
        body = io.BytesIO()
        upright.save(body, "JPEG", quality=PHOTO_QUALITY)
        return URLFetcherResponse(url, body.getvalue(), {"Content-Type": "image/jpeg"})


def _decode(text: str) -> bytes:
    return base64.b64decode(unquote_to_bytes(text), validate=True)
