"""The command line imports only what the command needs."""

from __future__ import annotations

import subprocess
import sys

import pytest

SCRIPT = """
import sys
sys.argv = ["tallyfret", *sys.argv[1:]]
from intake.cli.main import main
try:
    main()
finally:
    print(*sys.modules, file=sys.stderr)
"""
HEAVY = {"flask", "wtforms", "sqlite_utils", "weasyprint", "uvicorn", "cryptography", "PIL", "argon2"}


@pytest.mark.parametrize(
    ("command", "needed"),
    [
        (["--version"], set()),
        (["quote", "pricing_demo/walkins/01-plain-restring.toml", "--json"], set()),
        (["book", "sources"], set()),
        (["staff", "--help"], {"sqlite_utils", "argon2"}),
    ],
    ids=["version", "quote", "book sources", "staff"],
)
def test_a_command_imports_no_more_than_it_needs(
    command: list[str], needed: set[str], pytestconfig: pytest.Config
) -> None:
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, *command], cwd=pytestconfig.rootpath, capture_output=True, text=True
    )

    assert done.returncode == 0, done.stderr
    assert HEAVY & set(done.stderr.split()) == needed
