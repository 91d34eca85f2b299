"""Rows of the book's tables: changed, added, moved and taken out; bad ones refused beside their cell."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from intake.config import demo_book
from intake.screens.book_editor.csv_rows import Rows
from intake.screens.book_editor.row_form import cells as cells_of
from intake.screens.book_editor.row_form import form_of
from tests.depth import some_quick

FILES = sorted(path.relative_to(demo_book()).as_posix() for path in demo_book().rglob("*.csv"))
cells = st.text(st.characters(codec="utf-8", exclude_categories=["C"]) | st.sampled_from('",;\t'), max_size=6)
sheets = st.lists(st.lists(cells, min_size=3, max_size=3), min_size=1, max_size=8)


def row_of(file: str, id: str) -> int:
    return number_of(Rows.of((demo_book() / file).read_bytes()), id)


def number_of(rows: Rows, id: str) -> int:
    at = rows.headings.index("id")
    return next(number for number, cells in rows.body.items() if cells[at] == id)


def field(file: str, heading: str) -> str:
    return f"c{Rows.of((demo_book() / file).read_bytes()).headings.index(heading)}"


def lines(owner: Any, file: str) -> tuple[list[str], list[str]]:
    """The demo's lines that are gone, and those that are new."""
    before = (demo_book() / file).read_bytes().decode().split("\n")
    after = owner.file(file).split("\n")
    return [line for line in before if line not in after], [line for line in after if line not in before]


@pytest.mark.parametrize("name", FILES)
def test_a_file_read_and_written_is_the_same(name: str) -> None:
    content = (demo_book() / name).read_bytes()
    assert bytes(Rows.of(content)) == content


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("named", ["", "sep=;\r\n"])
def test_a_file_from_a_spreadsheet_keeps_its_way_of_writing(encoding: str, named: str) -> None:
    """Rows are counted as the loader counts them, with a line that names the separator and without."""
    text = f"{named}id;name;cost\r\nbone;Os, blanchi;2,50\r\nhorn;Corne;3,00\r\n"
    rows = Rows.of(text.encode(encoding))
    assert bytes(rows) == text.encode(encoding) and rows.headings == ("id", "name", "cost")
    number = number_of(rows, "bone")
    assert number == (3 if named else 2)
    changed = bytes(rows.changed(number, ("bone", "Os", "2,75")))
    assert changed == text.replace("Os, blanchi;2,50", "Os;2,75").encode(encoding)


@given(sheets, st.sampled_from(",;\t"), st.sampled_from(("\n", "\r\n")), st.booleans(), st.data())
def test_other_rows_keep_their_bytes(
    sheet: list[list[str]], delimiter: str, end: str, mark: bool, data: st.DataObject
) -> None:
    """Whatever is done to one row, in whatever way the file is written."""
    target = io.StringIO(newline="")
    csv.writer(target, delimiter=delimiter, lineterminator=end).writerows([["a", "b", "c"], *sheet])
    content = (("\ufeff" if mark else "") + target.getvalue()).encode()
    rows = Rows.of(content)
    assert bytes(rows) == content
    assume(rows.body and rows.delimiter == delimiter)
    number = data.draw(st.sampled_from(list(rows.body)))
    new = tuple(cell.strip() for cell in data.draw(st.lists(cells, min_size=3, max_size=3)))
    changed = Rows.of(bytes(rows.changed(number, new)))
    others = [record.text for at, record in enumerate(rows.records, 1) if at != number]
    assert [record.text for at, record in enumerate(changed.records, 1) if at != number] == others
    assert not any(new) or changed.body[number] == new
    assert [record.text for record in Rows.of(bytes(rows.removed(number))).records] == others
    to = data.draw(st.sampled_from(list(rows.body)))
    moved = rows.moved(number, to)
    assert moved.records[to - 1] == rows.records[number - 1]
    assert sorted(record.text for record in moved.records) == sorted(record.text for record in rows.records)


@pytest.mark.parametrize(
    ("heading", "typed", "says"),
    [
        ("quick", "-1", "cannot be negative"),
        ("usual", "99", "quick may not be more than usual"),
        ("usual", "0.1", "quick may not be more than usual"),
        ("slow", "900", "more than 80"),
        ("slow", "long", "number"),
        ("price", "-12", "not negative"),
        ("price", "cheap", "not an amount"),
        ("name", "", "missing"),
        ("parts", "moonbeam", "not a part of this book"),
        ("operations", "moonbeam", "not a shared operation"),
        ("wait", "a while", "is not a wait"),
        ("stage", "soon", "not a whole number"),
    ],
)
def test_a_job_that_cannot_be_is_refused_beside_its_cell(
    refused: Callable[..., None], heading: str, typed: str, says: str
) -> None:
    row = row_of("jobs.csv", "setup")
    refused(
        f"/book/rows/{row}/jobs.csv", field("jobs.csv", heading), says, **{field("jobs.csv", heading): typed}
    )


def test_a_circle_over_another_job_is_refused_beside_after(refused: Callable[..., None]) -> None:
    """Gluing a crack comes after the look inside; now the look inside would come after it."""
    row, after = row_of("order.csv", "inside-inspection"), field("order.csv", "after")
    refused(f"/book/rows/{row}/order.csv", after, "in a circle", **{after: "crack-cleat"})


@pytest.mark.parametrize(
    ("file", "row", "heading", "typed", "says"),
    [
        ("targets.csv", 4, "style", "slide or not", "quote"),
        ("targets.csv", 4, "style", "", "-"),
        ("targets.csv", 4, "string_count", "[12..", "number"),
        ("targets.csv", 4, "style", "fierce", "not a value of style"),
        ("remedies.csv", 5, "when", "tuners", "write it as"),
        ("remedies.csv", 5, "when", "tuners: smoth", "not a value of tuners"),
        ("order.csv", 3, "after", "moonbeam", "not a job of this book"),
        ("order.csv", 3, "after", "setup", "stage 0 is before stage 11"),
        ("targets.csv", 4, "then relief_low [in]", "little", "number"),
        ("tables/nut.csv", 4, "then severity", "dire", "not a severity"),
        ("remedies.csv", 5, "then job", "moonbeam", "not a job of this book"),
        ("factors.csv", 4, "then factor", "-2", "not a number above 0"),
        ("parts.csv", 2, "cost", "-7", "not negative"),
        ("parts.csv", 2, "cost", "1" + "0" * 40, "is not an amount"),
        ("operations.csv", 2, "usual", "9", "quick ≤ usual ≤ slow"),
    ],
)
def test_a_rule_that_cannot_be_is_refused_beside_its_cell(
    refused: Callable[..., None], file: str, row: int, heading: str, typed: str, says: str
) -> None:
    refused(f"/book/rows/{row}/{file}", field(file, heading), says, **{field(file, heading): typed})


def test_hours_of_a_job_change_one_line(owner: Any) -> None:
    row = row_of("jobs.csv", "setup")
    answer = owner.change(f"/book/rows/{row}/jobs.csv", **{field("jobs.csv", "slow"): "3,5"})
    assert answer.status_code == 303 and answer.headers["Location"] == "/book/effect"
    assert "jobs.csv, setup, slow" in owner.client.get("/book/effect").text
    owner.save()
    gone, new = lines(owner, "jobs.csv")
    assert len(gone) == len(new) == 1 and ",3.5," in new[0]
    assert float(owner.ctx.book.jobs["setup"].hours.slow) == 3.5


def test_a_row_is_copied_moved_and_taken_out(owner: Any) -> None:
    """Under the hit policy first, what stands above counts."""
    file, note = "targets.csv", field("targets.csv", "note")
    before = owner.file(file)
    copied = owner.change(f"/book/rows/0/{file}?after=4&like=4", **{note: "tried out"})
    assert copied.status_code == 303 and copied.headers["Location"].endswith("targets.csv#r5")
    up = owner.client.post(f"/book/rows/5/move/{file}", data={"do": "up", "seen": seen(owner, file)})
    assert up.headers["Location"].endswith("#r4")
    owner.save()
    assert "tried out" in owner.file(file).split("\n")[3]
    owner.client.post(f"/book/rows/4/move/{file}", data={"do": "remove", "seen": seen(owner, file)})
    owner.save()
    assert owner.file(file) == before and owner.numbers == [3, 2, 1]


def seen(owner: Any, file: str) -> str:
    return str(owner.form(f"/book/rows/5/{file}")["seen"])


def test_a_part_in_use_cannot_be_taken_out(owner: Any) -> None:
    form = {"do": "remove", "seen": owner.form("/book/rows/2/parts.csv")["seen"]}
    answer = owner.client.post("/book/rows/2/move/parts.csv", data=form)
    assert answer.status_code == 422 and "not a part of this book" in answer.text and not owner.drafted


def test_a_new_job_with_its_remedy_in_one_revision(owner: Any) -> None:
    """Nothing asks for the job at first: that is worth a look, and no reason to refuse it."""
    job = {"id": "polish", "group": "finish", "name": "Polish", "name [fr]": "Lustrer", "splits": "yes"}
    job |= {"quick": "0.5", "usual": "1", "slow": "2", "stage": "9"}
    typed = {field("jobs.csv", heading): value for heading, value in job.items()}
    assert owner.change("/book/rows/0/jobs.csv", **typed).status_code == 303
    assert "Nothing ever recommends “polish”." in owner.client.get("/book/effect").text
    remedy = {
        "finding": '"bench_look"',
        "then job": "polish",
        "then quantity": "1",
        "then tier": "everything",
    }
    typed = {field("remedies.csv", heading): value for heading, value in remedy.items()}
    assert owner.change("/book/rows/0/remedies.csv", **typed).status_code == 303
    effect = owner.client.get("/book/effect").text
    assert "Nothing ever recommends" not in effect and "Worth a look" not in effect
    owner.save()
    assert "polish" in owner.ctx.book.jobs and owner.numbers == [2, 1]


def test_another_window_was_quicker(owner: Any) -> None:
    row = row_of("jobs.csv", "setup")
    form = owner.form(f"/book/rows/{row}/jobs.csv")
    owner.change(f"/book/rows/{row}/jobs.csv", **{field("jobs.csv", "slow"): "3"})
    form[field("jobs.csv", "slow")] = "4"
    answer = owner.client.post(f"/book/rows/{row}/jobs.csv", data=form)
    assert answer.status_code == 422 and "in another window" in answer.text and 'value="4"' in answer.text


def test_jobs_and_rows_are_found_by_words_and_group(owner: Any) -> None:
    whole = owner.page("/book/jobs").xpath("//*[@id='found']//li")
    assert len(whole) == len(owner.ctx.book.jobs)
    found = owner.page("/book/jobs?q=nut").xpath("//*[@id='found']//li")
    assert 0 < len(found) < len(whole)
    group = owner.page("/book/jobs?group=first-look").xpath("//*[@id='found']//li")
    assert len(group) == sum(job.group == "first-look" for job in owner.ctx.book.jobs.values())
    assert "No row answers" in owner.client.get("/book/tables/targets.csv?q=zither").text
    assert 0 < len(owner.page("/book/parts?q=bone").xpath("//*[@id='found']//li")) < len(owner.ctx.book.parts)


@pytest.mark.parametrize("file", some_quick(FILES, every=6))
def test_every_table_opens_and_so_does_its_first_row(standing: Any, file: str) -> None:
    rows = Rows.of((demo_book() / file).read_bytes())
    first = min(rows.body)

    page = standing.page(f"/book/tables/{file}")
    form = standing.form(f"/book/rows/{first}/{file}")
    sent = standing.client.post(f"/book/rows/{first}/{file}", data=form)

    assert len(page.xpath("//tbody/tr")) == len(rows.body)
    assert tuple(form[field(file, heading)] for heading in rows.headings) == rows.body[first]
    assert sent.status_code == 303 and not standing.drafted


def test_what_nobody_touched_in_a_row_stays_as_it_was_written(standing: Any) -> None:
    """Blanks, decimal commas and an empty choice of a spreadsheet's file."""
    row = 'strings-steel;Strings,  steel six;"Cordes\n acier";7,00;13,00;set;'
    rows = Rows.of(f"id;name;name [fr];cost;price;unit;taxed\n{row}\n".encode())
    form = form_of("parts.csv", rows.headings, standing.ctx.book)(data=cells_of(rows.headings, rows.body[2]))
    assert form.typed(rows.body[2]) == rows.body[2]
    form.cell("cost").data = "7,50"
    assert form.typed(rows.body[2]) == (*rows.body[2][:3], "7.50", *rows.body[2][4:])


@pytest.mark.parametrize(
    "file", ["shop.toml", "README.md", "../shop.toml", "tables/none.csv", "walkins/x.csv"]
)
def test_only_tables_of_the_book_are_tables(standing: Any, file: str) -> None:
    assert standing.client.get(f"/book/tables/{file}").status_code == 404
    assert standing.client.get(f"/book/rows/3/{file}").status_code == 404


def test_ids_are_picked_from_lists(owner: Any) -> None:
    file = "remedies.csv"

    def offered(heading: str, file: str = file) -> list[str]:
        page = owner.page(f"/book/rows/5/{file}")
        (cell,) = page.xpath(f"//*[@name='{field(file, heading)}']")
        return page.xpath(f"//datalist[@id='{cell.get('list')}']/option/@value")

    assert offered("then job") == list(owner.ctx.book.jobs)
    assert offered("then tier") == ["playable", "put_right", "everything"]
    assert "relief_high" in offered("finding")
    assert "ebony" in offered("then default_top_wood", "defaults.csv")
    assert {"solid", "banjo"} < set(offered("family", "defaults.csv"))
    assert "flat-top" in offered("groups", "families.csv")
    assert "default_scale_length" in offered("figure", "ranges.csv")


def add_column(owner: Any, file: str, heading: str) -> Any:
    form = {"heading": heading, "seen": seen(owner, file)}
    return owner.client.post(f"/book/columns/{file}", data=form)


def test_a_column_of_another_language_gets_its_field(owner: Any) -> None:
    file = "jobs.csv"

    added = owner.client.post(
        f"/book/columns/{file}", data={"heading": "name [de]", "seen": seen(owner, file)}
    )
    page = owner.page(f"/book/rows/{row_of(file, 'setup')}/{file}")

    assert added.status_code == 303
    assert page.xpath("//label[text()='Name on the quote (Deutsch)'][not(ancestor::details)]")


def test_a_column_that_no_fact_bears_is_refused_with_what_was_typed(owner: Any) -> None:
    file = "tables/relief.csv"

    answer = owner.client.post(
        f"/book/columns/{file}", data={"heading": "releif [F", "seen": seen(owner, file)}
    )

    assert (
        answer.status_code == 422 and 'value="releif [F"' in answer.text and "square brackets" in answer.text
    )
    assert not owner.drafted


def test_a_column_of_a_fact_that_nothing_gives_is_refused(owner: Any) -> None:
    answer = add_column(owner, "tables/relief.csv", "releif [in]")

    assert answer.status_code == 422 and "is “relief” meant?" in answer.text and not owner.drafted


def test_a_new_column_of_a_table_tests_nothing_yet(owner: Any) -> None:
    file = "tables/relief.csv"

    add_column(owner, file, "string_count")
    cells = owner.page(f"/book/tables/{file}").xpath("//td[@data-name='string_count']/text()")

    assert set(cells) == {"-"}
