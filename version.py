"""The version of what is built: 0.1 and the number of commits, so that each one that lands is an upgrade.

From an unpacked source archive, which has no history, it is the version that the archive names. A shallow
clone counts too few: build from a whole one.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

HERE = Path(__file__).resolve().parent
SERIES = "0.1"


def version() -> str:
    """`0.1.N`; `0.1.0` where neither history nor an archive's own word can be found."""
    named = HERE / "PKG-INFO"
    if named.is_file() and (found := re.search(r"(?m)^Version: (\S+)$", named.read_text("utf-8"))):
        return found[1]
    try:
        count = subprocess.run(
            ["git", "rev-list", "--count", "HEAD"], cwd=HERE, capture_output=True, text=True, check=True
        )
    except (OSError, subprocess.CalledProcessError):
        return f"{SERIES}.0"
    return f"{SERIES}.{count.stdout.strip()}"
