"""Faults put back on purpose, in a copy of the program: what the walks are proved by.

A plant is pairs of a text that stands in today's code once, and of what it is replaced by; one that no
longer finds its text says so. The program of issue 14's day saved whole steps. Where a fault lived in that
design its equivalent in today's code is planted, and `as_it_was` says what that is.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parents[3]
COPIED = ("intake", "static", "templates", "pricing_demo", "bench", "version.py", "pyproject.toml")


class PlantError(Exception):
    """A plant no longer finds the text that it replaces."""


@dataclass(frozen=True)
class Change:
    """In one file: a text that stands there once, and what takes its place."""

    file: str
    text: str
    planted: str


@dataclass(frozen=True)
class Plant:
    """`number` is the finding's in issue 14."""

    number: str
    fault: str
    as_it_was: str
    changes: tuple[Change, ...]


SHOWN, EDITS, MERGE, TAKING = (
    "static/js/shown.js",
    "static/js/edits.js",
    "intake/services/merge.py",
    "intake/services/edits.py",
)
OF_OWN_LOG = """        base = edit.base
        if edit.log:
            known = edits.of_part(self.db, self.ticket, edit.part)
            base += tuple(row.id for row in known if row.log == edit.log)
        outcome = self._part(edit.part).take(
            Edit(edit.id, edit.value, base, edit.by),"""
ASKED_NOWHERE = """        if question_of(edit.part) not in {*self.book.questions, "passed"} | {
            f"passed.{step.id}" for step in self.book.steps
        }:
            return Became(edit.id, "same", edits.life(self.db).version)
        outcome = self._part(edit.part).take("""
TAKES = "        outcome = self._part(edit.part).take("
TAKES_EDIT = f"{TAKES}\n            Edit(edit.id, edit.value, edit.base, edit.by),"

PLANTS = (
    Plant(
        "1",
        "a page loaded while its last save was under way shows the value blank",
        "no edit is laid over a page as it opens; a blank page's next save no longer wipes by itself",
        (
            Change(
                SHOWN,
                "  await edits.sawEpoch(page.epoch);\n  await layOver();\n",
                "  await edits.sawEpoch(page.epoch);\n",
            ),
        ),
    ),
    Plant(
        "2",
        "the second tab's save blanks the first one's value",
        "a save sends all of its step, tabs tell each other nothing, a phone's own edits count as seen",
        (
            Change(
                SHOWN,
                "  if (changed.length) write(changed.map(",
                "  if (changed.length) write([...readStep(step)]"
                ".map(([part, value]) => ({ part, value, before: stateOf(part) })).map(",
            ),
            Change(
                "static/js/database.js",
                '"BroadcastChannel" in window ? new BroadcastChannel(NAME) : null',
                "null",
            ),
            Change(TAKING, TAKES_EDIT, OF_OWN_LOG),
        ),
    ),
    Plant(
        "3",
        "an old mark of a withdrawal, never cleared, wipes a new walk-in once the line goes",
        "as it was",
        (Change("static/js/outbox.js", '    localStorage.removeItem("withdrawn at");\n', ""),),
    ),
    Plant(
        "4",
        "a row of values scrolled by hand jumps back when a save is answered",
        "as it was",
        (
            Change("static/js/rule.js", "  if (touched.has(row)) return;\n", ""),
            Change(
                "static/js/wizard.js",
                "    markWrong(target);\n",
                '    markWrong(target);\n    all(".rule", target).forEach(bringIn);\n',
            ),
        ),
    ),
    Plant(
        "5",
        "a second touch within 600 ms takes the value back",
        "as it was",
        (Change("static/js/answering.js", "const MOMENT = 600;", "const MOMENT = 0;"),),
    ),
    Plant(
        "6a",
        "an answer whose question has left the book is answered with 200 and dropped",
        "the same; that a question moved to another step is no case any more, as edits do not name steps",
        (Change(TAKING, TAKES, ASKED_NOWHERE),),
    ),
    Plant(
        "6b",
        "an older request that arrives late becomes the newest",
        "an edit needs no base: whatever arrives last stands",
        (
            Change(
                MERGE,
                '        if self._replacing(edit):\n            return Outcome("replaced")\n',
                "",
            ),
            Change(
                MERGE,
                "        roots = {self.roots.get(id, id) for id in edit.base}\n"
                "        return {head.id for head in self.heads if head.id in roots}",
                "        return {head.id for head in self.heads}",
            ),
        ),
    ),
    Plant(
        "7",
        "of six photos chosen, one is kept when the page is left after 150 ms, and nothing is asked",
        "as it was: one after the other, each made small before it is kept",
        (
            Change(
                "static/js/photos.js",
                'Promise.all(files.map((file) => take(box.querySelector(".thumbs"), file)));',
                "files.reduce((before, file) => before"
                ".then(() => new Promise((small) => setTimeout(small, 120)))"
                '.then(() => take(box.querySelector(".thumbs"), file)), Promise.resolve());',
            ),
            Change(
                "static/js/photos.js",
                'window.addEventListener("beforeunload", (event) => unkept && event.preventDefault());\n',
                "",
            ),
        ),
    ),
    Plant(
        "8",
        "another tap of one side settles a clash that nobody chose",
        "an edit on top of one value of a clash counts as having seen all of them",
        (
            Change(
                MERGE,
                "        return {head.id for head in self.heads if head.id in roots}",
                "        found = {head.id for head in self.heads if head.id in roots}\n"
                "        return {head.id for head in self.heads} if found else found",
            ),
        ),
    ),
    Plant(
        "9",
        "a value typed into the fret sheet and not left is nowhere",
        "as it was",
        (
            Change(
                "static/js/frets.js",
                "      field.value = own.value; // typed and not left is kept too\n"
                '      field.dispatchEvent(new Event("input", { bubbles: true }));\n',
                "",
            ),
        ),
    ),
    Plant(
        "10",
        "a photo that stands in the page's memory is called kept on this phone",
        "as it was",
        (
            Change("static/js/photos.js", 'kept ? "waiting" : "memory"', '"waiting"'),
            Change(
                "static/js/photos.js",
                'word(WORDS[outcome] || (note.dataset.memory ? "onPage" : "onPhone"))',
                'word("onPhone")',
            ),
        ),
    ),
    Plant(
        "11",
        "a shop set back to an older backup gets nothing again of what it had before",
        "the phone does not look at the epoch",
        (Change(EDITS, "  if (back) {\n", "  if (false) {\n"),),
    ),
    Plant(
        "12",
        "a photo that was refused stays on the phone while the foot says “Saved”",
        "as it was",
        (
            Change(
                EDITS,
                "    photos: await tables.photos.all(ticket),\n    drafts:",
                "    photos: (await tables.photos.all(ticket))"
                '.filter((photo) => photo.state !== "refused"),\n    drafts:',
            ),
        ),
    ),
)


def planted(plant: Plant, at: Path) -> Path:
    """A copy of the program with that fault. Raises PlantError."""
    for name in COPIED:
        source = HERE / name
        copy = shutil.copytree if source.is_dir() else shutil.copy
        if source.exists():
            copy(source, at / name)
    for change in plant.changes:
        plant_change(plant, change, at)
    return at


def plant_change(plant: Plant, change: Change, root: Path) -> None:
    """Put one change of a plant into the copy. Raises PlantError."""
    path = root / change.file
    text = path.read_text("utf-8")
    if text.count(change.text) != 1:
        found = text.count(change.text)
        raise PlantError(
            f"plant {plant.number}: {change.file} has {found} times, not once: {change.text.strip()}"
        )
    path.write_text(text.replace(change.text, change.planted), "utf-8")
