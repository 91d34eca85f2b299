"""The build that this program and the book in force make: phones stamp what they keep with it."""

from __future__ import annotations

import hashlib
from pathlib import Path

from flask import Flask, current_app

from intake.web.context import current_context
from intake.web.static_files import tree_hash


def install(app: Flask) -> None:
    """Name this build in every template: phones stamp what they keep with it."""
    templates = tree_hash(Path(app.root_path, app.template_folder or ""))
    app.extensions["build"] = hashlib.sha256(
        f"{app.extensions['static_version']}{templates}".encode()
    ).hexdigest()[:12]
    app.context_processor(lambda: {"build": build()})


def build() -> str:
    """The program with the book in force: a changed book is a new wizard, which phones fetch anew."""
    return f"{current_app.extensions['build']}-{current_context().book.digest[:12]}"
