"""`tallyfret staff` on the shop's own computer."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from intake.cli.main import main
from intake.store import attempts, passwords, people
from intake.store.db import Store
from intake.store.timestamps import stamp

PASSWORD = "seven brass tuners"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A data folder with an owner and Noor at the counter."""
    folder = tmp_path / "shop"
    assert run(folder, "owner", "Mara Lindt", typed=f"{PASSWORD}\n{PASSWORD}\n").exit_code == 0
    assert run(folder, "add", "Noor Amari", "--role", "counter", typed="4711\n4711\n").exit_code == 0
    return folder


def run(folder: Path, *arguments: str, typed: str = "") -> Result:
    return CliRunner().invoke(main, ["--data", str(folder), "staff", *arguments], input=typed)


def person(folder: Path, name: str) -> people.Person:
    store = Store(folder)
    found = people.named(store.db, name)
    store.close()
    assert found
    return found


def test_owner_and_staff_from_the_command_line(shop: Path) -> None:
    assert passwords.matches(person(shop, "Mara Lindt").password_hash, PASSWORD)
    noor = person(shop, "Noor Amari")
    assert noor.role == "counter" and passwords.matches(noor.pin_hash, "4711")
    listed = run(shop, "list")
    assert listed.output == "owner   Mara Lindt\ncounter Noor Amari\n"


def test_what_is_typed_is_never_shown(tmp_path: Path) -> None:
    said = run(tmp_path / "s", "owner", "Mara", typed=f"short\nshort\n{PASSWORD}\n{PASSWORD}\n")
    assert said.exit_code == 0 and "8 characters or more" in said.output
    assert PASSWORD not in said.output and "short\n" not in said.output.replace("short:", "")


def test_a_second_run_gives_the_owner_a_new_password(shop: Path) -> None:
    said = run(shop, "owner", "Eve", typed="another long one\nanother long one\n")
    assert said.exit_code == 0 and "Mara Lindt is the owner" in said.output
    assert passwords.matches(person(shop, "Mara Lindt").password_hash, "another long one")


def test_off_on_and_a_new_pin(shop: Path) -> None:
    assert run(shop, "off", "noor amari").exit_code == 0
    assert not person(shop, "Noor Amari").active
    assert "off" in run(shop, "list").output
    assert run(shop, "on", "Noor Amari").exit_code == 0 and person(shop, "Noor Amari").active
    assert run(shop, "pin", "Noor Amari", typed="12\n12\n123456\n123456\n").exit_code == 0
    assert passwords.matches(person(shop, "Noor Amari").pin_hash, "123456")


def test_unlock(shop: Path) -> None:
    from intake.config import utc_now

    store, noor = Store(shop), person(shop, "Noor Amari")
    until = stamp(utc_now() + timedelta(minutes=30))
    with store.writing() as db:
        db.table("attempts").insert(
            {
                "kind": "person",
                "about": str(noor.id),
                "count": attempts.MOST,
                "last": until,
                "locked_until": until,
            }
        )
    assert attempts.locked(store.db, utc_now())
    assert "locked" in run(shop, "list").output
    assert run(shop, "unlock", "Noor Amari").exit_code == 0
    assert not attempts.locked(store.db, utc_now())
    store.close()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("off", "Nobody"), "nobody called Nobody"),
        (("off", "Mara Lindt"), "is the owner"),
        (("pin", "Mara Lindt"), "is the owner"),
        (("add", "NOOR AMARI"), "already"),
        (("add", " "), "name"),
    ],
)
def test_what_it_refuses(shop: Path, arguments: tuple[str, ...], says: str) -> None:
    said = run(shop, *arguments, typed="1234\n1234\n")
    assert said.exit_code == 1 and says in said.output and "Traceback" not in said.output


def test_without_a_shop_there_is_nobody(tmp_path: Path) -> None:
    for arguments in (("list",), ("add", "Noor"), ("off", "Noor")):
        said = run(tmp_path / "none", *arguments)
        assert said.exit_code == 1 and "holds no shop" in said.output
    assert not (tmp_path / "none").exists()
