"""The ASVS table is whole, true to the tests and the code, and the page is what the command writes."""

from __future__ import annotations

import importlib
import importlib.util
import re
from pathlib import Path
from types import ModuleType

import pytest

HERE = Path(__file__).resolve().parent


@pytest.fixture(scope="module")
def table() -> ModuleType:
    spec = importlib.util.spec_from_file_location("table", HERE / "table.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_requirement_stands_there_and_every_named_test_exists(table: ModuleType) -> None:
    assert list(table.problems(table.rows())) == []


def test_the_page_is_what_the_command_writes(table: ModuleType) -> None:
    """Else run: python tests/security/table.py"""
    assert (HERE / "ASVS.md").read_text("utf-8") == table.markdown(table.rows())


def test_a_table_with_faults_is_refused(table: ModuleType) -> None:
    rows = table.rows()
    rows[0] = {**rows[0], "tests": "security/test_table.py::test_that_is_not_there"}
    rows[1] = {**rows[1], "how": ""}
    rows[2] = {**rows[2], "state": "met", "tests": ""}
    found = "\n".join(table.problems([*rows[:-1], rows[3]]))
    for sentence in ("there is no test", "says too little", "names no test", "17 is missing", "stands twice"):
        assert sentence in found


def test_the_limits_that_are_written_down_are_those_of_the_code() -> None:
    limits = re.findall(
        r"^\| [^|]+ \| ([^|]+) \| (intake[.\w]+) \|$", (HERE / "measures.md").read_text(), re.M
    )
    assert len(limits) > 20
    for written, name in limits:
        module, _, constant = name.rpartition(".")
        assert str(getattr(importlib.import_module(module), constant)) == written, name
