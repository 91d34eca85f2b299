"""What makes the counter an app on a phone: manifest, service worker, the page for when the line is down.

None of these says anything about a customer, so none asks who is there.
"""

from __future__ import annotations

import json
from pathlib import Path

from flask import Response, current_app, render_template, request, url_for

from intake.i18n import _, current_language
from intake.screens.pwa.blueprint import blueprint
from intake.web.build import build
from intake.web.context import current_context

INK = "#1E1B18"
BONE = "#F3F1EA"
BY_THE_WORKER = ("css/tallyfret.css", "icons", "js", "fonts", "vendor/htmx/htmx-4.0.1.min.js")
ICONS = (
    ("counter-192.png", "192x192", "any"),
    ("counter-512.png", "512x512", "any"),
    ("counter-maskable-512.png", "512x512", "maskable"),
)


@blueprint.get("/manifest.webmanifest")
def manifest() -> Response:
    """Name, icons and colours of the app; its scope is the whole site."""
    home = request.script_root + "/"
    about = {
        "id": home,
        "name": f"{current_context().book.shop.name} · Tallyfret",
        "short_name": "Tallyfret",
        "description": _("Walk-ins and quotes at the counter"),
        "lang": current_language(),
        "start_url": home,
        "scope": home,
        "display": "standalone",
        "theme_color": INK,
        "background_color": BONE,
        "icons": [
            {"src": _icon(name), "sizes": sizes, "type": "image/png", "purpose": purpose}
            for name, sizes, purpose in ICONS
        ],
        "shortcuts": [
            {
                "name": _("New walk-in"),
                "url": url_for("wizard.blank_wizard"),
                "icons": [{"src": _icon(ICONS[0][0]), "sizes": ICONS[0][1], "type": "image/png"}],
            }
        ],
    }
    return _lasting(json.dumps(about, ensure_ascii=False), "application/manifest+json")


@blueprint.get("/sw.js")
def worker() -> Response:
    """The service worker, with what this build consists of. A new build is a new worker."""
    root = Path(current_app.static_folder or "")
    facts = {
        "build": build(),
        "root": request.script_root,
        "files": [url_for("static", filename=name) for name in _kept_files(root)],
    }
    script = f"const THIS = {json.dumps(facts)};\n{(root / 'worker.js').read_text('utf-8')}"
    return _lasting(script, "text/javascript")


@blueprint.get("/offline")
def offline() -> Response:
    """The board of a phone without a line: what the phone itself keeps, put in by its script."""
    return _lasting(render_template("pwa/offline.html"), "text/html")


@blueprint.get("/install")
def install_page() -> str:
    """How this becomes an app on each kind of phone."""
    return render_template("pwa/install.html")


def _kept_files(root: Path) -> list[str]:
    """What the worker fetches ahead: all that a page loads, so no app icons and licences."""
    chosen = [path for name in BY_THE_WORKER for path in (root / name, *sorted((root / name).glob("*.*")))]
    return [
        path.relative_to(root).as_posix()
        for path in chosen
        if path.is_file() and path.suffix not in (".png", ".txt")
    ]


def _icon(name: str) -> str:
    return url_for("static", filename=f"icons/{name}")


def _lasting(text: str, kind: str) -> Response:
    """An answer that may be kept, but is asked for anew each time."""
    answer = Response(text, mimetype=kind)
    answer.headers["Cache-Control"] = "no-cache"
    answer.headers["Build"] = build()
    return answer
