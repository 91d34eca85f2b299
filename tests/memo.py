"""What hundreds of apps would each make anew is made once a process: nothing of it changes meanwhile."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher
from flask import Flask
from flask.templating import Environment
from jinja2.bccache import Bucket, BytecodeCache
from werkzeug.routing import Rule

from intake.book.files import load
from intake.book.files.load import digest, load_book
from intake.book.files.tables import Groups, read_table
from intake.book.model import Book
from intake.book.problems import Problem
from intake.book.tables import Table
from intake.config import data_root, demo_book
from intake.services import context, current_book
from intake.store import passwords
from intake.web import build, static_files

Units = Mapping[str, str]
Builder = Callable[..., tuple[str, str]]
OWN_FOLDERS = {data_root() / "static", data_root() / "templates"}


@lru_cache
def sample_book() -> Book:
    """The demo shop's book."""
    return load_book(demo_book())


class Compiled(BytecodeCache):
    """Templates as compiled by an earlier app, each as long as its source stays."""

    held: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if bucket.key in self.held:
            bucket.bytecode_from_string(self.held[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        self.held[bucket.key] = bucket.bytecode_to_string()


class Templates(Environment):
    def __init__(self, app: Any, **options: Any) -> None:
        super().__init__(app, bytecode_cache=Compiled(), **options)


def install(patch: pytest.MonkeyPatch) -> None:
    """A book and a table of the same bytes are read once, a template and a route are compiled once, and our
    own static files and templates are hashed once. Argon2id does little work."""
    load_once = _loader()
    patch.setattr(current_book, "load_book", load_once)
    patch.setattr(context, "load_book", load_once)
    patch.setattr(load, "read_table", _table_reader())
    patch.setattr(Flask, "jinja_environment", Templates)
    patch.setattr(Rule, "_compile_builder", _compiler(Rule._compile_builder))
    for module in (static_files, build):
        patch.setattr(module, "tree_hash", _hasher(static_files.tree_hash))
    patch.setattr(passwords, "HASHER", PasswordHasher(1, 8, 1))


def _loader() -> Callable[[Path], Book]:
    loaded: dict[str, Book] = {}

    def load_once(folder: Path) -> Book:
        if folder == demo_book():
            return sample_book()
        mark = digest(folder) if folder.is_dir() else ""
        if mark not in loaded:
            loaded[mark] = load_book(folder)
        return loaded[mark]

    return load_once


def _table_reader() -> Callable[..., Table | None]:
    """Books that differ in one table share the others, with what is wrong in them."""
    read: dict[object, tuple[Table | None, tuple[Problem, ...]]] = {}

    def read_once(
        path: Path, file: str, units: Units, groups: Groups, problems: list[Problem]
    ) -> Table | None:
        content = path.read_bytes() if path.is_file() else None
        key = (path.stem, file, content, frozenset(units.items()), str(groups))
        if key not in read:
            found: list[Problem] = []
            read[key] = read_table(path, file, units, groups, found), tuple(found)
        table, wrong = read[key]
        problems.extend(wrong)
        return table

    return read_once


def _compiler(compile_builder: Callable[[Rule, bool], Builder]) -> Callable[..., Builder]:
    """The function that builds a rule's addresses depends on these alone: it takes the rule as `self`."""
    compiled: dict[object, Builder] = {}

    def compile_once(rule: Rule, append_unknown: bool = True) -> Builder:
        key = (rule.rule, tuple(rule._trace), str(rule.defaults), append_unknown)
        if key not in compiled:
            compiled[key] = compile_builder(rule, append_unknown)
        return compiled[key]

    return compile_once


def _hasher(tree_hash: Callable[[Path], str]) -> Callable[[Path], str]:
    hashed = lru_cache(tree_hash)
    return lambda folder: hashed(folder) if folder in OWN_FOLDERS else tree_hash(folder)
