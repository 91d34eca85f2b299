"""A shop with other units and money and one more family: the demo book, its CSV and TOML edited."""

from __future__ import annotations

import csv
import io
import re
import shutil
from pathlib import Path

HERE = Path(__file__).parent
DEMO = HERE.parents[2] / "pricing_demo"
NEW = "octave-mandolin"
WORD = re.compile(r"(?<![\w-])mandolin(?![\w-])")
IN_MM = ("action_bass_12", "action_treble_12", "relief", "nut_bass_1", "nut_treble_1", "crown_height",
         "fret_wear", "bridge_feet_gap", "scale_length", "saddle_showing")  # fmt: skip

ROWS = {
    "action_bass_12": "1.6 1.8 2.0 2.2 2.4 2.6 2.8 3.0 3.5",
    "action_treble_12": "1.2 1.4 1.6 1.8 2.0 2.2 2.4 2.8",
    "relief": "0 0.05 0.10 0.15 0.20 0.25 0.30 0.40 0.60", "nut_bass_1": "0.30 0.40 0.50 0.60 0.70 0.80",
    "nut_treble_1": "0.20 0.30 0.40 0.50 0.60 0.70", "crown_height": "0.6 0.7 0.8 0.9 1.0 1.1 1.2",
    "fret_wear": "0.05 0.08 0.10 0.15 0.20 0.30", "bridge_feet_gap": "0 0.1 0.2 0.3 0.5 1.0",
}  # fmt: skip
"""The values offered at a tap, in millimetres."""


def make(folder: Path) -> Path:
    """The book in that folder: every edit is one that a spreadsheet or a text editor makes."""
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("walkins"))
    shutil.copy(HERE / "shop.toml", folder)
    for path in sorted((HERE / "add").glob("*.csv")):
        _add_rows(folder / path.name, path)
    for path in sorted((*folder.glob("f*.csv"), *(folder / "tables").glob("*.csv"))):
        if path.name != "families.csv":
            _where_a_mandolin_is_meant(path)
    _checklist(folder / "checklist.toml")
    return folder


def _rows(path: Path) -> list[list[str]]:
    return list(csv.reader(io.StringIO(path.read_text("utf-8"), newline="")))


def _write(path: Path, rows: list[list[str]]) -> None:
    target = io.StringIO(newline="")
    csv.writer(target, lineterminator="\n").writerows(rows)
    path.write_text(target.getvalue(), encoding="utf-8")


def _add_rows(path: Path, more: Path) -> None:
    rows, (columns, *added) = _rows(path), _rows(more)
    headings = next(row for row in rows if columns[0] in row)
    rows += [[dict(zip(columns, row, strict=True)).get(heading, "") for heading in headings] for row in added]
    _write(path, rows)


def _where_a_mandolin_is_meant(path: Path) -> None:
    """The new family beside the old one, in every cell that tests families."""
    rows = _rows(path)
    headings = next(row for row in rows if any(cell.startswith("then ") for cell in row))
    testing = [at for at, heading in enumerate(headings) if heading in ("family", "when")]
    for row in rows:
        for at in [1] if row[0] == "when" and row is not headings else testing:
            if at < len(row) and row is not headings:
                row[at] = WORD.sub(f"mandolin, {NEW}", row[at])
    _write(path, rows)


def _checklist(path: Path) -> None:
    text = path.read_text("utf-8")
    line = next(line for line in text.splitlines() if 'id = "mandolin", label' in line)
    new = f'  {{id = "{NEW}", label = "Octave mandolin", "label [fr]" = "Mandoline octave"}},'
    text = text.replace(line, f"{line}\n{new}")
    for id in (*IN_MM, "room_temp"):
        start = text.index(f'\nid = "{id}"\n')
        old, unit = ('unit = "F"', 'unit = "C"') if id == "room_temp" else ('unit = "in"', 'unit = "mm"')
        asked = text[start:].replace(old, unit, 1)
        if id in ROWS:
            values = ", ".join(f'"{value} mm"' for value in ROWS[id].split())
            asked = re.sub(r"(?m)^values = \[.*?\]", f"values = [{values}]", asked, count=1)
        text = text[:start] + asked
    path.write_text(text, encoding="utf-8")
