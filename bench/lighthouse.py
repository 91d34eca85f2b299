"""Lighthouse (mobile: slow 4G, quarter of the computing power) on board and wizard of a fresh demo shop.

    bench/lighthouse.sh

Measured on 2 cores, Chromium 156, lighthouse 12.2.3, http on loopback: wizard performance 99, accessibility
100, best practices 100; board 100, 100, 100.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import badge

from intake.app import create_app
from intake.config import Settings, demo_book
from intake.demo.run import serving

FIGURES = (
    "first-contentful-paint",
    "largest-contentful-paint",
    "total-blocking-time",
    "cumulative-layout-shift",
    "speed-index",
)
FLAGS = ("--quiet", "--output=json", "--chrome-flags=--headless=new --no-sandbox")
CATEGORIES = "--only-categories=performance,accessibility,best-practices"


def look_at(lighthouse: str, url: str, report: Path, cookie: str) -> None:
    """Print the scores of one page."""
    chromium = shutil.which("chromium") or shutil.which("google-chrome") or ""
    command = ["node", lighthouse, url, *FLAGS, CATEGORIES, f"--output-path={report}"]
    command.append(f"--extra-headers={json.dumps({'Cookie': cookie})}")
    subprocess.run(command, env={**os.environ, "CHROME_PATH": chromium}, check=True)
    found = json.loads(report.read_text("utf-8"))
    print(url, {name: round(part["score"] * 100) for name, part in found["categories"].items()})
    print("  ", {name: found["audits"][name]["displayValue"] for name in FIGURES})


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        cookie = badge.cookie(Path(folder))
        app = create_app(Settings(Path(folder), demo_book()))
        with serving(lambda: app, 0) as running:
            for page in ("", "walkin"):
                look_at(sys.argv[1], running.url + page, Path(folder) / "report.json", cookie)


if __name__ == "__main__":
    main()
