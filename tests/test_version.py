"""The version that a build has, and that frozen quotes name."""

from __future__ import annotations

import importlib.util
import re
import shutil
import subprocess
from pathlib import Path
from types import ModuleType

import pytest

TOP = Path(__file__).resolve().parent.parent


def module(folder: Path) -> ModuleType:
    """version.py, as it would run in that folder."""
    shutil.copy(TOP / "version.py", folder)
    spec = importlib.util.spec_from_file_location("its_version", folder / "version.py")
    assert spec and spec.loader
    loaded = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(loaded)
    return loaded


def commit(folder: Path) -> None:
    who = ["-c", "user.name=x", "-c", "user.email=x@shop.example"]
    subprocess.run(
        ["git", *who, "commit", "-q", "--allow-empty", "-m", "x"], cwd=folder, check=True, capture_output=True
    )


def test_it_rises_with_each_commit(tmp_path: Path) -> None:
    subprocess.run(["git", "init", "-q"], cwd=tmp_path, check=True)
    commit(tmp_path)
    first = module(tmp_path).version()
    commit(tmp_path)

    assert (first, module(tmp_path).version()) == ("0.1.1", "0.1.2")


def test_an_archive_without_history_keeps_its_own(tmp_path: Path) -> None:
    (tmp_path / "PKG-INFO").write_text("Metadata-Version: 2.4\nName: tallyfret\nVersion: 0.1.77\n")

    assert module(tmp_path).version() == "0.1.77"


def test_without_either_it_is_the_first_of_the_series(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))

    assert module(tmp_path).version() == "0.1.0"


def test_the_program_says_the_version_that_is_installed() -> None:
    from intake import __version__

    assert re.fullmatch(r"0(\.\d+)*", __version__)
