"""The service file as systemd reads it, and the container file against what it copies and installs."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

from intake.cli.main import main
from intake.cli.service_file import DEPLOY, unit

TOP = Path(__file__).parents[2]
ODD = Path('/srv/a shop %h $HOME "x"')


def printed(*options: str) -> str:
    result = CliRunner().invoke(main, [*options, "service-file"], catch_exceptions=False)
    assert result.exit_code == 0
    return result.stdout


def test_it_names_this_program_and_the_shops_data() -> None:
    text = printed("--data", "/srv/shop")
    assert re.search(r'^ExecStart="/.*/tallyfret" --data "/srv/shop" serve --lan$', text, re.MULTILINE)
    assert 'ReadWritePaths="/srv/shop"\n' in text
    assert not re.search(r"@[A-Z]+@", text)
    assert '"/var/lib/tallyfret"' in printed()


def test_a_path_is_one_word_whatever_it_holds() -> None:
    text = unit(Path("/usr/bin/env"), ODD)
    assert r'--data "/srv/a shop %%h $$HOME \"x\"" serve' in text
    assert r'ReadWritePaths="/srv/a shop %%h $HOME \"x\""' in text


@pytest.mark.skipif(not shutil.which("systemd-analyze"), reason="needs systemd")
@pytest.mark.parametrize("data", [Path("/var/lib/tallyfret"), ODD])
def test_systemd_finds_nothing_wrong_and_little_open(tmp_path: Path, data: Path) -> None:
    file = tmp_path / "tallyfret.service"
    file.write_text(unit(Path("/usr/bin/env"), data))
    read = subprocess.run(["systemd-analyze", "verify", str(file)], capture_output=True, text=True)
    assert (read.returncode, read.stderr) == (0, "")
    weigh = ["systemd-analyze", "security", "--offline=true", "--threshold=20", str(file)]
    assert subprocess.run(weigh, capture_output=True).returncode == 0  # "OK" begins at 2.0 of 10


def test_the_container_file_copies_what_there_is_and_installs_what_run_does() -> None:
    """It cannot be built here; what it names can be looked up."""
    text = (DEPLOY / "Containerfile").read_text("utf-8")
    copied = [
        source
        for line in re.findall(r"^COPY (?!--from)(.*)$", text, re.MULTILINE)
        for source in line.split()[:-1]
    ]
    assert "intake" in copied and all((TOP / source).exists() for source in copied)
    wanted = re.search(r'need_pango\(\).*?"(libpango[^"]*)"', (TOP / "run").read_text(), re.DOTALL)
    assert wanted and wanted[1] in text
    assert '"serve", "--host", "0.0.0.0"' in text and "\nUSER shop\n" in text
