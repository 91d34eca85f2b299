"""The ASVS table: `python tests/security/table.py` writes ASVS.md from asvs.csv and measures.md.

`./run test --deep $(python tests/security/table.py --tests)` tries every row.

It refuses to, with the reasons, while a named test does not exist, a requirement of levels 1 and 2 is
missing, or a row says too little. The requirements are those of OWASP ASVS 5.0.0, by number, in words of our
own.
"""

from __future__ import annotations

import ast
import csv
import sys
from collections.abc import Iterator
from pathlib import Path

HERE = Path(__file__).resolve().parent
TESTS = HERE.parent
STATES = ("met", "deviation", "not applicable")
SECTIONS = {
    "1.1": "1-2", "1.2": "1-9", "1.3": "1-11", "1.4": "1-3", "1.5": "1-2", "2.1": "1-3", "2.2": "1-3",
    "2.3": "1-4", "2.4": "1", "3.2": "1-2", "3.3": "1-4", "3.4": "1-6", "3.5": "1-5", "3.7": "1-2",
    "4.1": "1-3", "4.2": "1", "4.3": "1-2", "4.4": "1-4", "5.1": "1", "5.2": "1-3", "5.3": "1-2",
    "5.4": "1-3", "6.1": "1-3", "6.2": "1-12", "6.3": "1-4", "6.4": "1-4", "6.5": "1-5", "6.6": "1-3",
    "6.8": "1-4", "7.1": "1-3", "7.2": "1-4", "7.3": "1-2", "7.4": "1-5", "7.5": "1-2", "7.6": "1-2",
    "8.1": "1-2", "8.2": "1-3", "8.3": "1", "8.4": "1", "9.1": "1-3", "9.2": "1-4", "11.1": "1-2",
    "11.2": "1-3", "11.3": "1-3", "11.4": "1-4", "11.5": "1", "11.6": "1", "12.1": "1-3", "12.2": "1-2",
    "12.3": "1-4", "13.1": "1", "13.2": "1-5", "13.3": "1-2", "13.4": "1-5", "14.1": "1-2", "14.2": "1-4",
    "14.3": "1-3", "15.1": "1-3", "15.2": "1-3", "15.3": "1-7", "16.1": "1", "16.2": "1-5", "16.3": "1-4",
    "16.4": "1-3", "16.5": "1-3",
}  # fmt: skip
"""Numbers of levels 1 and 2 in each section of ASVS 5.0.0; chapters 10 and 17 stand as one row each."""
CHAPTERS = {
    "1": "Encoding and sanitization", "2": "Validation and business logic", "3": "Web frontend",
    "4": "Web service", "5": "Files", "6": "Authentication", "7": "Sessions", "8": "Authorization",
    "9": "Self-contained tokens", "10": "OAuth and OIDC", "11": "Cryptography", "12": "Communication",
    "13": "Configuration", "14": "Data protection", "15": "Coding and architecture",
    "16": "Logging and errors", "17": "WebRTC",
}  # fmt: skip

Row = dict[str, str]


def rows() -> list[Row]:
    """asvs.csv as it stands."""
    with (HERE / "asvs.csv").open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def wanted() -> set[str]:
    """The numbers that must stand in the table."""
    found = {"10", "17"}
    for section, span in SECTIONS.items():
        first, _, last = span.partition("-")
        found |= {f"{section}.{number}" for number in range(int(first), int(last or first) + 1)}
    return found


def problems(table: list[Row]) -> Iterator[str]:
    """What is wrong with the table, in sentences."""
    ids = [row["id"] for row in table]
    yield from (f"{id} stands twice." for id in sorted(set(ids)) if ids.count(id) > 1)
    yield from (f"{id} is missing." for id in sorted(wanted() - set(ids)))
    for row in table:
        if row["state"] not in STATES or not row["how"] or not row["requirement"]:
            yield f"{row['id']}: says too little."
        if not row["tests"]:
            yield f"{row['id']}: names no test."
        yield from (f"{row['id']}: there is no test {name}." for name in tests_of(row) if not exists(name))


def tests_of(row: Row) -> list[str]:
    return [name for name in row["tests"].split(";") if name]


def exists(name: str) -> bool:
    """Whether a file under tests, or a test function in one (`file.py::name`), is there."""
    file, _, function = name.partition("::")
    path = TESTS / file
    return path.is_file() and (not function or function in functions(path))


def functions(path: Path) -> set[str]:
    return {
        node.name for node in ast.parse(path.read_text("utf-8")).body if isinstance(node, ast.FunctionDef)
    }


def markdown(table: list[Row]) -> str:
    """ASVS.md."""
    counts = ", ".join(f"{sum(row['state'] == state for row in table)} {state}" for state in STATES)
    lines = [
        (HERE / "measures.md").read_text("utf-8").rstrip(),
        "",
        "## The table",
        "",
        f"{len(table)} rows: {counts}.",
    ]
    chapter = ""
    for row in table:
        if row["id"].split(".")[0] != chapter:
            chapter = row["id"].split(".")[0]
            lines += ["", f"### V{chapter} {CHAPTERS[chapter]}", ""]
            lines += [
                "| no. | level | requirement | | how, or why not | tried by |",
                "|---|---|---|---|---|---|",
            ]
        tests = "<br>".join(f"`{name}`" for name in tests_of(row))
        cells = (row["id"], row["level"], row["requirement"], row["state"], row["how"], tests)
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def main() -> int:
    """Write ASVS.md, or say why not; with `--tests` print the names of all tests, for pytest."""
    table = rows()
    if sys.argv[1:] == ["--tests"]:
        print("\n".join(sorted({f"tests/{name}" for row in table for name in tests_of(row)})))
        return 0
    found = list(problems(table))
    if not found:
        (HERE / "ASVS.md").write_text(markdown(table), "utf-8")
    print("\n".join(found) or f"{HERE / 'ASVS.md'} is written.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
