"""Passwords that are guessed first are refused, and nothing else is asked of a password."""

from __future__ import annotations

from typing import Any

import pytest
from click.testing import CliRunner

from intake.cli.main import main
from intake.store import people
from intake.store.weak_passwords import is_weak

NAMES = ("Mara Lindt", "Harbour Lane Strings")


@pytest.mark.parametrize(
    "password",
    [
        "password", "Password1!", "PASSWORD2026", "password password", "12345678", "87654321", "1234567890",
        "aaaaaaaa", "abababab", "abcdefgh", "qwertyuiop", "qwertz12", "asdfghjkl", "1q2w3e4r", "letmein!!",
        "maralindt", "Mara Lindt 1", "harbourlane", "Harbour-Lane-Strings", "tallyfret1", "guitar2026",
        "        ", "Guitar Repair", "ｐａｓｓｗｏｒｄ", "admin_admin",
    ],
)  # fmt: skip
def test_what_is_guessed_first_is_refused(password: str) -> None:
    assert is_weak(password, NAMES)


@pytest.mark.parametrize(
    "password",
    [
        "seven brass tuners", "correct horse battery staple", "kqzvwxjm", "the lindt tree",
        "mara likes plums", "xK3$pL9q", "пароль на стене", "my guitar weeps", "2718281828459045",
        "une corde à vide",
    ],
)  # fmt: skip
def test_anything_else_may_be_one(password: str) -> None:
    """No sign is asked for or forbidden, and no password grows old."""
    assert not is_weak(password, NAMES)


@pytest.mark.parametrize("new", ["password1", "Mara Lindt 1", "87654321"])
def test_the_owner_s_page_refuses_it_with_a_sentence(site: Any, new: str) -> None:
    form = {"old": "a long enough password", "password": new, "again": new}
    answer = site.client("owner").post("/people/password", data=form)
    assert answer.status_code == 422 and "guessed first" in answer.text
    owner = people.owner(site.ctx.store.db)
    assert owner and owner.name == "Mara Lindt"


def test_the_command_line_refuses_it_too(tmp_path: Any) -> None:
    typed = "tallyfret1\ntallyfret1\nseven brass tuners\nseven brass tuners\n"
    done = CliRunner().invoke(
        main, ["--data", str(tmp_path / "data"), "staff", "owner", "Mara Lindt"], input=typed
    )
    assert done.exit_code == 0 and "guessed first" in done.output
