"""What is installed: every package locked to a version and its hashes; and an honest audit of them."""

from __future__ import annotations

import importlib.util
import re
import tomllib
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

TOP = Path(__file__).resolve().parents[2]
PIN = re.compile(r"^([A-Za-z0-9._-]+)==(\S+)", re.M)


def locked(name: str) -> dict[str, str]:
    """Package to version."""
    return {
        package.lower().replace("_", "-"): version
        for package, version in PIN.findall((TOP / name).read_text())
    }


@pytest.mark.parametrize("name", ["requirements.lock", "requirements-dev.lock", "requirements-build.lock"])
def test_every_package_has_one_version_and_its_hashes(name: str) -> None:
    text = re.sub(r"\\\n", " ", (TOP / name).read_text("utf-8"))
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    assert len(lines) >= 5
    for line in lines:
        assert PIN.match(line) and re.search(r"--hash=sha256:[0-9a-f]{64}", line), line[:80]
        assert "://" not in line and "git+" not in line, line[:80]


def test_what_the_project_asks_for_is_locked() -> None:
    project = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]
    for asked in project["dependencies"]:
        assert re.split(r"[<>=!~;\[ ]", asked)[0].lower() in locked("requirements.lock"), asked
    assert locked("requirements.lock").items() <= locked("requirements-dev.lock").items()
    assert locked("requirements-build.lock").items() <= locked("requirements-dev.lock").items()


def test_what_only_builds_is_not_installed_where_the_shop_runs() -> None:
    for package in ("hatchling", "trove-classifiers", "pathspec"):
        assert package in locked("requirements-build.lock")
        assert package not in locked("requirements.lock")


def test_the_commands_install_only_what_has_its_hash() -> None:
    run = (TOP / "run").read_text("utf-8")
    assert re.search(r"pip install .*--require-hashes -r", run)
    assert "audit" in (TOP / ".ci" / "run").read_text("utf-8")


def test_the_pdf_library_is_one_without_known_holes() -> None:
    """70.0 mends CVE-2026-55073, 69.0 CVE-2026-49452, 68.0 CVE-2025-68616 (WeasyPrint's changelog)."""
    assert tuple(map(int, locked("requirements.lock")["weasyprint"].split("."))) >= (70, 0)


@pytest.fixture
def audit() -> ModuleType:
    spec = importlib.util.spec_from_file_location("audit", Path(__file__).with_name("audit.py"))
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def package(name: str, **more: Any) -> dict[str, Any]:
    return {"name": name, "version": "1.0", "vulns": [], **more}


def test_the_audit_never_calls_clean_what_it_could_not_look_up(audit: ModuleType) -> None:
    hole = {"id": "X-1", "fix_versions": ["1.1"]}
    skipped = {"name": "b", "skip_reason": "not found"}
    assert audit.verdict({"dependencies": [package("a")]})[0] == audit.CLEAN
    assert audit.verdict({"dependencies": [package("a"), skipped]})[0] == audit.NOT_AUDITED
    assert audit.verdict({"dependencies": []})[0] == audit.verdict(None)[0] == audit.NOT_AUDITED
    code, lines = audit.verdict({"dependencies": [package("a", vulns=[hole]), skipped]})
    assert code == audit.VULNERABLE and lines == ["a 1.0: X-1, mended in 1.1"]
