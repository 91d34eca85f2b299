"""A price book from its folder; everything wrong with it is named at once."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from intake.book.files.checklist import read_checklist
from intake.book.files.families import (
    FAMILIES,
    NEEDED,
    TUNED,
    TUNINGS,
    families_of,
    groups_of,
    usual,
    with_families,
)
from intake.book.files.lists import read_jobs, read_operations, read_parts, read_plain
from intake.book.files.metric import in_metric
from intake.book.files.ranges import RANGED, RANGES, ranges_of
from intake.book.files.shop import read_shop
from intake.book.files.soundness import soundness_problems
from intake.book.files.tables import IN_64THS, heading_units, load_table, read_table
from intake.book.model import Book, Question
from intake.book.problems import BookError, Problem
from intake.book.tables import Table
from intake.trade import registry
from intake.trade.units import SCALE

__all__ = ["BookError", "Problem", "book_files", "load_book", "load_table"]

SINGLE_TABLES = ("targets.csv", "defaults.csv", "remedies.csv", "factors.csv", "fitting.csv")
OPTIONAL_TABLES = ("hands.csv", "target_changes.csv", "answering.csv", "waiting.csv")
OPTIONAL_LISTS = {FAMILIES: NEEDED, TUNINGS: TUNED, RANGES: RANGED}
LISTS = (
    FAMILIES,
    TUNINGS,
    RANGES,
    "jobs.csv",
    "order.csv",
    "operations.csv",
    "parts.csv",
    "strings.csv",
    "woods.csv",
)
STRINGS = ("family", "gauge_set", "string", "gauge", "kind", "unit_weight")
WOODS = ("id", "name", "radial", "tangential", "density")
ITEM_UNITS = {"size": "in", "worn": "in", "next_worn": "in", "nut_here": "in"}


def load_book(folder: Path) -> Book:
    """The book in that folder.

    Raises BookError with everything that keeps it from being read, or, once it can be, from being
    used; `check_book` judges its sense.
    """
    if not folder.is_dir():
        raise BookError([Problem(folder.name, None, "", "There is no such folder.")])
    problems: list[Problem] = []
    places: dict[tuple[str, str], int] = {}
    shop = read_shop(folder / "shop.toml", problems)
    steps, questions = read_checklist(folder / "checklist.toml", problems, places)
    plain = {
        file: read_plain(folder / file, needed, problems, places) if (folder / file).is_file() else ()
        for file, needed in OPTIONAL_LISTS.items()
    }
    families = families_of(plain[FAMILIES], questions, places, problems)
    questions = with_families(questions, families)
    if shop and shop.measures == "metric":
        questions = in_metric(questions)
    ranges = ranges_of(plain[RANGES], families, places, problems)
    units, groups = fact_units(questions, folder), groups_of(families)
    single = {file: read_table(folder / file, file, units, groups, problems) for file in SINGLE_TABLES}
    several = [read_table(path, f"tables/{path.name}", units, groups, problems) for path in _tables(folder)]
    optional = {
        file: read_table(folder / file, file, units, groups, problems)
        for file in OPTIONAL_TABLES
        if (folder / file).is_file()
    }
    jobs = read_jobs(folder / "jobs.csv", folder / "order.csv", problems, places)
    operations = read_operations(folder / "operations.csv", problems, places)
    parts = read_parts(folder / "parts.csv", problems, places)
    strings = read_plain(folder / "strings.csv", STRINGS, problems, places)
    woods = read_plain(folder / "woods.csv", WOODS, problems, places)
    ordered = _in_order([table for table in several if table], problems)
    targets, defaults, remedies, factors, fitting = (single[file] for file in SINGLE_TABLES)
    if problems or not (shop and targets and defaults and remedies and factors and fitting):
        raise BookError(problems)
    book = Book(
        shop=shop,
        steps=steps,
        questions=questions,
        targets=targets,
        defaults=defaults,
        tables=ordered,
        remedies=remedies,
        factors=factors,
        fitting=fitting,
        jobs=jobs,
        operations=operations,
        parts=parts,
        strings=strings,
        woods=woods,
        digest=digest(folder),
        units=units,
        places=places,
        families=families,
        ranges=ranges,
        beside={
            "strings_table": strings,
            "woods_table": woods,
            "tunings_table": (*usual(TUNINGS), *plain[TUNINGS]),
            "families_table": (*plain[FAMILIES], *usual(FAMILIES)),
        },
        hands=optional.get("hands.csv"),
        target_changes=optional.get("target_changes.csv"),
        answering=optional.get("answering.csv"),
        waiting=optional.get("waiting.csv"),
    )
    if unsound := soundness_problems(book):
        raise BookError(unsound)
    return book


def _tables(folder: Path) -> list[Path]:
    return sorted((folder / "tables").glob("*.csv"))


def book_files(folder: Path) -> list[Path]:
    """The files that make the book, in a fixed order; sample walk-ins are not part of it."""
    named = [
        folder / name for name in ("shop.toml", "checklist.toml", *SINGLE_TABLES, *OPTIONAL_TABLES, *LISTS)
    ]
    return sorted(path for path in (*named, *_tables(folder)) if path.is_file())


def digest(folder: Path) -> str:
    """SHA-256 in hex over names and contents, with every line end counted as one line feed."""
    total = hashlib.sha256()
    for path in book_files(folder):
        content = path.read_bytes().replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        total.update(f"{path.relative_to(folder).as_posix()}\n{len(content)}\n".encode())
        total.update(content)
    return total.hexdigest()


def fact_units(questions: Mapping[str, Question], folder: Path) -> dict[str, str]:
    """The unit of every fact that has one: questions, readings, pin fields, targets and defaults.

    A default has the unit of what it stands in for (`default_heel_depth` that of `heel_depth`).
    Targets are in inches, as the readings that use them are.
    """
    units = dict(ITEM_UNITS)
    units |= {spec.id: spec.unit for spec in registry.REGISTRY.values()}
    units |= {question.id: question.unit for question in questions.values()}
    targets = heading_units(folder / "targets.csv", "targets.csv")
    units |= {
        name: "in" if unit == IN_64THS or SCALE.get(unit, ("",))[0] == "length" else unit
        for name, unit in targets.items()
    }
    for name, unit in heading_units(folder / "defaults.csv", "defaults.csv").items():
        taken_in = units.get(name.removeprefix("default_")) or registry.TAKEN_IN.get(name)
        units[name] = taken_in or ("in" if unit == IN_64THS else unit)
    return {id: unit for id, unit in units.items() if unit}


def _in_order(tables: Iterable[Table], problems: list[Problem]) -> dict[str, Table]:
    """The tables, each after those whose findings it tests. A cycle is a problem."""
    named = {table.name: table for table in tables}
    givers: dict[str, set[str]] = {}
    for table in named.values():
        for fact in table.gives:
            givers.setdefault(fact, set()).add(table.name)
    sorter: TopologicalSorter[str] = TopologicalSorter()
    for table in named.values():
        sorter.add(table.name, *sorted(set().union(*(givers.get(fact, set()) for fact in table.awaits()))))
    try:
        return {name: named[name] for name in sorter.static_order()}
    except CycleError as error:
        files = " → ".join(named[name].file for name in error.args[1])
        problems.append(
            Problem(
                named[error.args[1][0]].file,
                None,
                "",
                f"Tables test each other's findings in a circle: {files}.",
            )
        )
        return named
