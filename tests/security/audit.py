"""`./run audit`: known vulnerabilities of what requirements.lock installs, as pip-audit's service knows them.

Ends with 0 if every package was looked up and none has any, 1 if one has, 75 (a temporary failure, as in
sysexits.h) if the service could not be asked about all of them: then nothing was audited, and it says so.
"""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

CLEAN, VULNERABLE, NOT_AUDITED = 0, 1, 75
COMMAND = ("--require-hashes", "--disable-pip", "--progress-spinner", "off", "--format", "json", "-r")


def verdict(report: dict[str, Any] | None) -> tuple[int, list[str]]:
    """The exit code and what to say for pip-audit's JSON; None where it gave none."""
    packages = report["dependencies"] if report else []
    skipped = [one["name"] for one in packages if "vulns" not in one]
    lines = [
        f"{one['name']} {one['version']}: {known['id']}, mended in {', '.join(known['fix_versions']) or '?'}"
        for one in packages
        for known in one.get("vulns", ())
    ]
    if lines:
        return VULNERABLE, lines
    if skipped or not packages:
        which = f"{len(skipped)} of {len(packages)} packages" if packages else "any package"
        return NOT_AUDITED, [f"NOT AUDITED: the vulnerability service could not be asked about {which}."]
    return CLEAN, [f"{len(packages)} packages, none with a known vulnerability."]


def main(lock: str) -> int:
    """Run pip-audit over the lock file and say what it found."""
    done = subprocess.run(
        [sys.executable, "-m", "pip_audit", *COMMAND, lock], capture_output=True, text=True, timeout=600
    )
    try:
        report = json.loads(done.stdout)
    except json.JSONDecodeError:
        report = None
    code, lines = verdict(report)
    print("\n".join(lines))
    return code


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
