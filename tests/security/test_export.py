"""`tallyfret export`: what a spreadsheet opens is never a formula, and every cell comes back as it was."""

from __future__ import annotations

import csv
import stat
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from click.testing import CliRunner
from hypothesis import example, given
from hypothesis import strategies as st

from intake.cli.main import main
from intake.operations.export import FORMULA, cell, export

HOSTILE = (
    "=1+1", "=cmd|' /C calc'!A0", "+15550107311", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "  =HYPERLINK(\"//x\")",
    "＝1+1", "|calc", "\0=1", "-", "=", "--5",
)  # fmt: skip


@given(
    st.one_of(st.text(max_size=30), st.sampled_from(HOSTILE), st.tuples(st.sampled_from(FORMULA), st.text()))
)
@example(("\0", "'"))
def test_no_words_make_a_formula(given_words: Any) -> None:
    words = "".join(given_words)
    made = cell(words)
    assert not made.lstrip("\0").startswith(FORMULA) or made.lstrip("-").replace(".", "", 1).isdigit()
    plain = words.replace("\0", "")
    assert made in (plain, f"'{plain}")


@pytest.mark.parametrize("number", ["-12.50", "0", "-3", "1200.00"])
def test_a_sum_stays_a_sum(number: str) -> None:
    assert cell(number) == number


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as handle:
        return list(csv.DictReader(handle))


def test_typed_words_reach_the_files_as_words(site: Any, tmp_path: Path) -> None:
    client, tickets = site.client("counter"), []
    for number, words in enumerate(HOSTILE):
        tickets.append(str(uuid4()))
        form = {"customer_name": f"{words}", "customer_phone": f'+1555 010 {number}, "x"\r\n;'}
        assert client.post(f"/tickets/{tickets[-1]}", data=form).status_code in (303, 422)
    folder = tmp_path / "out"
    counts = export(site.ctx.store.db, folder)
    rows = {name: read(folder / name) for name in counts}
    assert counts == {name: len(found) for name, found in rows.items()}
    assert len(rows["tickets.csv"]) >= len(HOSTILE) + 2 and len(rows["quotes.csv"]) == 2
    for found in rows.values():
        for row in found:
            assert None not in row and None not in row.values()
            for name, value in row.items():
                assert not value.lstrip().startswith(tuple("=+@|\t\r")), (name, value)
                assert not value.startswith("-") or value[1:].replace(".", "").isdigit(), (name, value)
    assert "'=1+1" in {row["name"] for row in rows["tickets.csv"]}
    raw = (folder / "tickets.csv").read_bytes()
    assert raw.startswith(b'\xef\xbb\xbf"number",') and raw.endswith(b'"\r\n')
    assert {stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()} == {0o600}


def test_no_secret_is_exported(site: Any, tmp_path: Path) -> None:
    export(site.ctx.store.db, tmp_path / "out")
    text = "".join(path.read_text("utf-8-sig") for path in (tmp_path / "out").iterdir())
    for hidden in (site.here.token, "token", "pin_hash", "argon2", "password"):
        assert hidden not in text


def test_the_command_writes_beside_a_running_shop(site: Any, tmp_path: Path) -> None:
    data, out = site.ctx.store.folder, tmp_path / "out"
    for _ in range(2):
        done = CliRunner().invoke(main, ["--data", str(data), "export", str(out)])
        assert done.exit_code == 0, done.output
    assert "quotes.csv: 2 rows" in done.output
    assert {path.name for path in out.iterdir()} == {"tickets.csv", "customers.csv", "quotes.csv"}
    quote = read(out / "quotes.csv")[0]
    assert float(quote["put_right_total"]) > 0 and quote["put_right_ready"].startswith("20")


def test_where_there_is_no_shop_nothing_is_written(tmp_path: Path) -> None:
    done = CliRunner().invoke(main, ["--data", str(tmp_path / "none"), "export", str(tmp_path / "out")])
    assert done.exit_code == 2 and "holds no shop" in done.output and not (tmp_path / "out").exists()
