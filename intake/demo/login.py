"""Who works in the demo shop, and the way a phone of theirs gets in: by the same doors as any other."""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlencode, urljoin
from urllib.request import HTTPCookieProcessor, Request, build_opener
from uuid import uuid4

from intake.lan.private_files import write_private
from intake.services.context import Context
from intake.store import devices, passwords, people
from intake.store.errors import StoreError
from intake.store.people import Role
from intake.store.tokens import new_code

FILE = "demo-login.txt"
OWNER = "Mara Lindt"
STAFF: Mapping[str, Role] = {"Noor Amari": "counter", "Ida Moreau": "bench"}
ABOUT = "# Made up at the demo's first start, for the demo alone."
LINE = re.compile(r"^(?P<name>[^:#]+): (?:password|PIN) (?P<secret>\S+)", re.MULTILINE)


@dataclass(frozen=True)
class Login:
    """Name to password (the owner) or PIN (everybody else)."""

    secrets: Mapping[str, str]

    def told(self) -> str:
        """The logins in words, for the terminal."""
        lines = [f"{OWNER}: password {self.secrets[OWNER]} (owner, on any browser)"]
        for name, role in STAFF.items():
            lines.append(f"{name}: PIN {self.secrets[name]} ({role}, on a phone that the owner has enrolled)")
        return "\n".join(("To sign in:", *(f"  {line}" for line in lines)))

    def text(self) -> str:
        """The same as a file that `login_of` reads back."""
        kinds = {OWNER: "password", **dict.fromkeys(STAFF, "PIN")}
        lines = [f"{name}: {kind} {self.secrets[name]}" for name, kind in kinds.items()]
        return "\n".join((ABOUT, *lines, ""))


@dataclass(frozen=True)
class Page:
    """Where a request led, and what was there."""

    address: str
    content: bytes


class Browser:
    """Something with cookies of its own that asks the demo's server."""

    def __init__(self, address: str) -> None:
        self._address = address
        self._opener = build_opener(HTTPCookieProcessor(CookieJar()))

    def get(self, place: str) -> Page:
        return self._ask(Request(urljoin(self._address, place)))

    def post(self, place: str, form: Iterable[tuple[str, str]] = ()) -> Page:
        """Send a form under a key of its own. Raises RuntimeError if it is refused."""
        headers = {"Idempotency-Key": str(uuid4()), "Device": "demo"}
        return self._ask(Request(urljoin(self._address, place), urlencode(list(form)).encode(), headers))

    def _ask(self, request: Request) -> Page:
        try:
            with self._opener.open(request) as answer:
                return Page(str(answer.url), answer.read())
        except HTTPError as error:
            said = error.read().decode()[:300]
            raise RuntimeError(f"{request.full_url} answered {error.code}: {said}") from error


def login_of(desk: Context, data: Path) -> Login:
    """The logins that the folder's file names, made at the first start.

    Raises StoreError for a folder with an owner of its own: a real shop is no place for the demo.
    """
    file = data / FILE
    if not file.exists():
        _refuse_real(desk, data)
        write_private(file, _made_up().text().encode())
    login = Login({found["name"]: found["secret"] for found in LINE.finditer(file.read_text("utf-8"))})
    if people.owner(desk.store.db) is None:
        _hire(desk, login)
    return login


def _refuse_real(desk: Context, data: Path) -> None:
    if people.owner(desk.store.db):
        raise StoreError(f"{data} belongs to a shop with an owner of its own; the demo takes another folder.")


def _made_up() -> Login:
    code = new_code()
    pins = [f"{pin:04}" for pin in secrets.SystemRandom().sample(range(10_000), len(STAFF))]
    return Login({OWNER: f"{code[:5]}-{code[5:10]}-{code[10:15]}", **dict(zip(STAFF, pins, strict=True))})


def _hire(desk: Context, login: Login) -> None:
    hashes = {name: passwords.hashed(secret) for name, secret in login.secrets.items()}
    with desk.store.writing() as db:
        people.add(db, OWNER, "owner", desk.now(), password_hash=hashes[OWNER])
        for name, role in STAFF.items():
            people.add(db, name, role, desk.now(), pin_hash=hashes[name])


@contextmanager
def signed_in(desk: Context, address: str, login: Login) -> Iterator[Browser]:
    """A phone that the owner enrols and Noor signs in on; afterwards it is withdrawn again."""
    owner, phone = Browser(address), Browser(address)
    name = next(iter(STAFF))
    person = people.named(desk.store.db, name)
    assert person is not None
    owner.post("/signin/owner", [("name", OWNER), ("password", login.secrets[OWNER])])
    shown = owner.post("/people/phones").content.decode()
    found = re.search(r"/enrol\?code=([a-z2-7]+)", shown)
    assert found is not None
    phone.post("/enrol", [("code", found[1]), ("name", "The demo’s own phone")])
    phone.post(f"/signin/{person.id}", [("pin", login.secrets[name])])
    try:
        yield phone
    finally:
        number = devices.every(desk.store.db)[0].id
        owner.post(f"/people/phones/{number}/revoke")
        owner.post("/signout")
