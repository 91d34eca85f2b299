"""Static files: an address that carries the content's hash may be kept for ever, any other is asked for."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path
from typing import Any

from flask import Flask, Response, request


def install(app: Flask) -> None:
    """Give `url_for("static", …)` the hash, and the answers their lifetime."""
    folder = Path(app.static_folder or "")

    def add_hash(endpoint: str, values: dict[str, Any]) -> None:
        if endpoint == "static" and "v" not in values:
            path = folder / values["filename"]
            if path.is_file():
                values["v"] = content_hash(path, path.stat().st_mtime_ns)

    def set_lifetime(answer: Response) -> Response:
        if request.endpoint == "static" and answer.status_code in (200, 304):
            kept = "v" in request.args
            answer.headers["Cache-Control"] = "public, max-age=31536000, immutable" if kept else "no-cache"
        return answer

    app.url_defaults(add_hash)
    app.after_request(set_lifetime)


@lru_cache(maxsize=512)
def content_hash(path: Path, changed: int) -> str:
    """Twelve hex digits of the file's SHA-256; `changed` makes an edited file count anew."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:12]
