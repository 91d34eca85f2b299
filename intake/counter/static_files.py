"""Static files: a folder named after the content of them all may be kept for ever, any other is asked for.

The version stands in the path (`/static/<version>/js/wizard.js`) and not in a query, so that what modules
and style sheets load by relative addresses carries it too.
"""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
import re
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from flask import Flask, Response, abort, request, send_file
from werkzeug.security import safe_join

FOREVER = "public, max-age=31536000, immutable"
TEXT = frozenset({".css", ".js", ".svg", ".txt"})
COMMENTS = re.compile(
    r"""^[ \t]*/\*.*?\*/[ \t]*\n    # a block on lines of its own
      | ^[ \t]*//[^\n]*\n             # a line of its own
      | (?<=[;{},)])[ \t]+//[ ][^\n]*$  # after a statement
      | ^[ \t]+                     # indentation""",
    re.MULTILINE | re.DOTALL | re.VERBOSE,
)


class Text(NamedTuple):
    """A text file's content, plain and compressed, and the hash that names it."""

    plain: bytes
    packed: bytes
    digest: str


def install(app: Flask) -> None:
    """Give `url_for("static", …)` the version, and the answers their lifetime."""
    folder = Path(app.static_folder or "")
    version = tree_hash(folder)

    def add_version(endpoint: str, values: dict[str, Any]) -> None:
        if endpoint == "static":
            values["filename"] = f"{version}/{values['filename']}"

    def static_file(filename: str) -> Response:
        inside = filename.removeprefix(f"{version}/")
        answer = read(folder, _without_old_version(folder, inside))
        answer.headers["Cache-Control"] = FOREVER if inside != filename else "no-cache"
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


def read(folder: Path, inside: str) -> Response:
    """The file as an answer, text compressed where the browser takes it. Aborts with 404."""
    found = safe_join(str(folder), inside)
    path = Path(found) if found else None
    if path is None or not path.is_file():
        abort(404)
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    if path.suffix not in TEXT:
        return send_file(path, mimetype=kind)
    text = packed_text(path, path.stat().st_mtime_ns)
    small = "gzip" in request.accept_encodings
    answer = Response(text.packed if small else text.plain, mimetype=kind)
    answer.set_etag(f"{text.digest}{'-gzip' if small else ''}")
    answer.vary.add("Accept-Encoding")
    if small:
        answer.headers["Content-Encoding"] = "gzip"
    answer.make_conditional(request)
    return answer


def _without_old_version(folder: Path, inside: str) -> str:
    """A page of an earlier version gets the file as it is now, rather than nothing."""
    first, _, rest = inside.partition("/")
    return rest if rest and not (folder / first).is_dir() else inside


@lru_cache(maxsize=512)
def packed_text(path: Path, changed: int) -> Text:
    """A text file, compressed once; `changed` makes an edited file count anew."""
    plain = path.read_bytes()
    if path.suffix in (".js", ".css") and "vendor" not in path.parts:
        plain = without_comments(plain.decode()).encode()
    return Text(plain, gzip.compress(plain, 9, mtime=0), hashlib.sha256(plain).hexdigest()[:20])


def without_comments(script: str) -> str:
    """A module or style sheet of ours without what only its readers need, a seventh of its weight.

    It knows our own style and nothing of the language: comments stand on lines of their own or after a
    statement, and no text spans lines.
    """
    return COMMENTS.sub("", script)
