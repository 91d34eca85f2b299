"""Static files: a folder named after the content of them all may be kept for ever, any other is asked for.

The version stands in the path (`/static/<version>/js/wizard.js`) and not in a query, so that what modules
and style sheets load by relative addresses carries it too.
"""

from __future__ import annotations

import hashlib
import mimetypes
from functools import lru_cache
from pathlib import Path
from typing import Any

from flask import Flask, Response, abort, request, send_file
from werkzeug.security import safe_join

from intake.web.content_encoding import Packing, label, wanted

FOREVER = "max-age=31536000, immutable"
TEXT = frozenset({".css", ".js", ".svg", ".txt"})


def install(app: Flask) -> None:
    """Give `url_for("static", …)` the version, and the answers their lifetime."""
    folder = Path(app.static_folder or "")
    version = tree_hash(folder)

    def add_version(endpoint: str, values: dict[str, Any]) -> None:
        if endpoint == "static":
            values["filename"] = f"{version}/{values['filename']}"

    def static_file(filename: str) -> Response:
        inside = filename.removeprefix(f"{version}/")
        for_ever = inside != filename
        answer = read(folder, _without_old_version(folder, inside), for_ever)
        answer.headers["Cache-Control"] = FOREVER if for_ever else "no-cache"
        return answer

    app.extensions["static_version"] = version
    app.url_defaults(add_version)
    app.view_functions["static"] = static_file


def tree_hash(*folders: Path) -> str:
    """Twelve hex digits that change with any file of the folders, by name or content."""
    digest = hashlib.sha256()
    for folder in folders:
        for path in sorted(path for path in folder.rglob("*") if path.is_file()):
            digest.update(f"{path.relative_to(folder).as_posix()}\0{path.stat().st_size}\0".encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


def read(folder: Path, inside: str, for_ever: bool) -> Response:
    """The file as an answer, text compressed where the browser takes it. Aborts with 404.

    One that is kept `for_ever` needs no tag to be asked for again by.
    """
    found = safe_join(str(folder), inside)
    path = Path(found) if found else None
    if path is None or not path.is_file():
        abort(404)
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    if path.suffix not in TEXT:
        return send_file(path, mimetype=kind, etag=not for_ever, conditional=not for_ever)
    packing = wanted()
    text, digest = packed_text(path, path.stat().st_mtime_ns, packing)
    answer = Response(text, mimetype=kind)
    label(answer, packing)
    if not for_ever:
        answer.set_etag(f"{digest}-{packing.name if packing else 'plain'}")
        answer.make_conditional(request)
    return answer


def _without_old_version(folder: Path, inside: str) -> str:
    """A page of an earlier version gets the file as it is now, rather than nothing."""
    first, _, rest = inside.partition("/")
    return rest if rest and not (folder / first).is_dir() else inside


@lru_cache(maxsize=512)
def packed_text(path: Path, changed: int, packing: Packing | None) -> tuple[bytes, str]:
    """A text file, packed once, and the hash that names it; `changed` makes an edited file count anew."""
    plain = path.read_bytes()
    return packing.pack(plain, 1) if packing else plain, hashlib.sha256(plain).hexdigest()[:20]
