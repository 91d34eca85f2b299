"""What the program writes is for its own user alone; secrets are made on first start, never given."""

from __future__ import annotations

import ast
import os
import re
import signal
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from intake.config import PACKAGE, data_root

pytestmark = pytest.mark.skipif(os.name != "posix", reason="rights of files are POSIX's")
RUN = "import os, sys; os.umask(0); from intake.cli.main import main; main(sys.argv[1:])"


def started(*words: str, cwd: Path) -> subprocess.Popen[bytes]:
    """The program under a system that would let everybody read everything."""
    return subprocess.Popen(
        [sys.executable, "-c", RUN, *words], cwd=cwd, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )


def open_to_others(folder: Path) -> Iterator[str]:
    for path in (folder, *folder.rglob("*")):
        mode = stat.S_IMODE(path.lstat().st_mode)
        if mode & 0o077:
            yield f"{path.relative_to(folder)} {mode:o}"


def test_a_shop_s_files_are_its_user_s_alone(tmp_path: Path) -> None:
    """A first start, a demo walk-in with its PDF, a backup and an export, all under umask 000."""
    data = tmp_path / "data"
    data.mkdir(mode=0o755)
    server = started("--data", str(data), "serve", "--port", "0", cwd=tmp_path)
    assert server.stdout
    server.stdout.readline()
    server.send_signal(signal.SIGTERM)
    server.communicate(timeout=120)
    for words in (["backup"], ["export", str(tmp_path / "out")], ["doctor"]):
        command = started("--data", str(data), *words, cwd=tmp_path)
        said, _ = command.communicate(timeout=120)
        assert command.returncode == 0, said
    written = [path for path in data.rglob("*") if path.is_file()]
    assert {"tallyfret.db"} <= {path.name for path in written} and len(written) > 3
    data.chmod(0o700)  # the folder itself was there before and is not ours to close
    assert list(open_to_others(data)) == []
    assert list(open_to_others(tmp_path / "out")) == []


def test_nothing_secret_lies_in_the_code() -> None:
    """No key, password or token stands in what is shipped: all are made on first start or typed."""
    secret = re.compile(
        r"(BEGIN [A-Z ]*PRIVATE KEY|SECRET_KEY\s*=|(?:password|pin|token|secret)\s*=\s*[\"'][^\"']{6,}[\"'])",
        re.I,
    )
    found = []
    for folder in (PACKAGE, data_root() / "templates", data_root() / "static"):
        for path in folder.rglob("*"):
            if path.suffix in (".py", ".html", ".js", ".toml") and "vendor" not in path.parts:
                found += [f"{path.name}: {hit[0]}" for hit in secret.finditer(path.read_text("utf-8"))]
    assert [line for line in found if not line.startswith("demo_login.py")] == []


def test_the_check_for_secrets_finds_what_is_planted() -> None:
    assert re.search(r"password\s*=\s*[\"'][^\"']{6,}", 'password = "hunter22"')


def test_no_shell_and_no_eval() -> None:
    """Commands are lists, rules are tables: no word of a person's is run (also ruff S602 and S608)."""
    forbidden = re.compile(
        r"\beval\(|\bexec\(|os\.system|shell=True|pickle|yaml\.load|marshal\.loads|__import__\("
    )
    for path in PACKAGE.rglob("*.py"):
        assert not forbidden.search(path.read_text("utf-8")), path


def test_sql_has_no_words_put_in() -> None:
    """f-strings in SQL name only columns and tables of ours; values are always parameters (ruff S608 too)."""
    linted = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--select", "S608,S602,S605,S301,S506,S323,S501",
         "--isolated", str(PACKAGE)], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert linted.returncode == 0, linted.stdout


def patterns() -> Iterator[tuple[Path, ast.expr]]:
    """The first argument of every call of `re`."""
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.args:
                of = node.func.value
                if isinstance(of, ast.Name) and of.id == "re" and node.func.attr != "escape":
                    yield path, node.args[0]


def names_in(node: ast.AST) -> set[str]:
    """Every name but those that `re.escape` makes harmless."""
    if isinstance(node, ast.Call) and ast.unparse(node.func) == "re.escape":
        return set()
    below = {name for child in ast.iter_child_nodes(node) for name in names_in(child)}
    return below | ({node.id} if isinstance(node, ast.Name) else set())


def test_no_pattern_is_built_of_words() -> None:
    """Patterns are constants of the code, so nobody's words are read as one; `pattern` is handed one."""
    seen = 0
    for path, pattern in patterns():
        names = names_in(pattern) - {"re"}
        assert all(name.isupper() or name == "pattern" for name in names), (path, ast.unparse(pattern))
        seen += 1
    assert seen > 20


def test_no_broken_hash_is_used() -> None:
    for path in PACKAGE.rglob("*.py"):
        assert not re.search(
            r"hashlib\.(md5|sha1)|SHA1\(|MD5\(|random\.(random|choice|randint)", path.read_text()
        ), path


def test_debug_cannot_be_turned_on() -> None:
    """No debugger or traceback page: Flask's own server is never started, and no setting asks for it."""
    for path in PACKAGE.rglob("*.py"):
        text = path.read_text("utf-8")
        assert not re.search(r"debug\s*=\s*True|app\.run\(|DebuggedApplication|PROPAGATE_EXCEPTIONS", text), (
            path
        )
