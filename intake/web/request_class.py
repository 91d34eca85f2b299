"""A request as the routes may read it, and the numbers in its address."""

from __future__ import annotations

from flask import Request
from werkzeug.datastructures import ImmutableMultiDict, MultiDict
from werkzeug.routing import IntegerConverter
from werkzeug.utils import cached_property

from intake.book.plain_text import plain


class ShortNumber(IntegerConverter):
    """A number in an address that the store can look up, (63 bits); a longer one finds nothing."""

    regex = r"[0-9]{1,15}"


SECRETS = frozenset({"password", "again", "old"})
"""Fields that are looked at exactly as they come (ASVS 6.2.8)."""


class Sent(Request):
    """A request as the routes may read it: words without the signs that deceive (`plain`), in fields,
    addresses and names of files. Parts of a multipart body that have no name, which no page of ours sends and
    Werkzeug calls None, are left out."""

    def _load_form_data(self) -> None:
        super()._load_form_data()
        named = {
            kind: [pair for pair in self.__dict__[kind].items(multi=True) if pair[0] is not None]
            for kind in ("form", "files")
        }
        self.__dict__["form"] = ImmutableMultiDict(map(_plain_pair, named["form"]))
        for _name, file in named["files"]:
            file.filename = plain(file.filename or "")
        self.__dict__["files"] = ImmutableMultiDict(named["files"])

    @cached_property
    def args(self) -> MultiDict[str, str]:
        return ImmutableMultiDict(map(_plain_pair, super().args.items(multi=True)))


def _plain_pair(pair: tuple[str, str]) -> tuple[str, str]:
    name, value = pair
    return plain(name), value if name in SECRETS else plain(value)
