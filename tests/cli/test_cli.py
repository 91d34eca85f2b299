"""The command line: what it prints, and the place it names when something has to be mended."""

from __future__ import annotations

import csv
import json
import shutil
import socket
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from intake import config
from intake.cli.main import main
from intake.trade.registry import REGISTRY

WALKINS = config.demo_book() / "walkins"
RESTRING = WALKINS / "01-plain-restring.toml"


def run(*arguments: object, **given: object) -> Result:
    return CliRunner().invoke(main, [str(each) for each in arguments], **given)


def refused(*arguments: object) -> str:
    """What stands on standard error; nothing may stand on standard output."""
    result = run(*arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    return result.stderr


@pytest.fixture
def case(tmp_path):
    def written(text: str, name: str = "case.toml") -> Path:
        path = tmp_path / name
        path.write_text(text)
        return path

    return written


@pytest.fixture
def book(tmp_path):
    folder = tmp_path / "book"
    shutil.copytree(config.demo_book(), folder)
    return folder


def test_quote_prints_json_and_nothing_else():
    result = run("quote", RESTRING, "--json", "--today", "2026-11-24")
    assert (result.exit_code, result.stderr) == (0, "")
    quote = json.loads(result.stdout)
    assert quote["offers"]["playable"]["jobs"] == ["restring"]
    assert quote["made_on"] == "2026-11-24"


def test_quote_prints_text_that_can_be_read():
    result = run("quote", RESTRING, "--today", "2026-11-24")
    assert result.exit_code == 0
    assert "Playable = Put right = Everything: $" in result.stdout


def test_quote_writes_a_pdf(tmp_path):
    pdf = tmp_path / "quote.pdf"
    result = run("quote", RESTRING, "--json", "--pdf", pdf)
    assert result.exit_code == 0, result.stderr
    assert pdf.read_bytes().startswith(b"%PDF-")
    json.loads(result.stdout)


def test_quote_takes_another_book(book):
    shop = book / "shop.toml"
    shop.write_text(shop.read_text().replace('currency = "USD"', 'currency = "EUR"'))
    assert json.loads(run("quote", RESTRING, "--json", "--book", book).stdout)["currency"] == "EUR"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            '[answers]\nfamily = "banjo"\nreleif = "1"\n',
            "case.toml, row 3, releif: “releif” is not a question",
        ),
        ('[answers]\nfamily = "banjo"\nrelief = "thin"\n', "case.toml, row 3, relief: "),
        ('[answers]\nfamily = "harp"\n', "case.toml, row 2, family: "),
        ('[answers]\nfamily = "banjo\n', "case.toml, row 2: This is not TOML"),
        ('not_assessed = ["nek"]\n[answers]\n', "case.toml, row 1, not_assessed: “nek” is not a step"),
    ],
)
def test_a_faulty_walkin_is_refused_with_its_place(case, text, said):
    assert said in refused("quote", case(text), "--json")


def test_a_walkin_that_is_not_there_is_refused(tmp_path):
    assert "none.toml" in refused("quote", tmp_path / "none.toml")


def test_a_faulty_table_is_refused_with_file_row_and_column(book):
    table = book / "tables" / "relief.csv"
    lines = table.read_text().splitlines()
    lines[3] = '"' + "x" * 5 + lines[3]
    table.write_text("\n".join(lines) + "\n")
    said = refused("quote", RESTRING, "--book", book)
    assert said.startswith("tables/relief.csv")


def test_a_book_that_is_not_there_is_refused(tmp_path):
    assert "no such folder" in refused("quote", RESTRING, "--book", tmp_path / "nothing")


def test_jobs_that_wait_for_each_other_are_refused(book):
    path = book / "order.csv"
    with path.open(newline="", encoding="utf-8") as file:
        jobs = list(csv.DictReader(file))
    for job in jobs:
        job["after"] = {"saddle-make": "setup", "setup": "saddle-make"}.get(job["id"], job["after"])
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, jobs[0])
        writer.writeheader()
        writer.writerows(jobs)
    said = refused("quote", WALKINS / "03-old-flat-top-neck-reset.toml", "--book", book)
    assert "order.csv, row " in said and ", after: " in said and "saddle-make" in said


def test_the_pdf_has_the_paper_of_the_shops_country(tmp_path, book):
    from pypdf import PdfReader

    shop = book / "shop.toml"
    widths = []
    for locale in ("en_US", "fr_FR"):
        shop.write_text(shop.read_text("utf-8").replace("en_US", locale), "utf-8")
        pdf = tmp_path / f"{locale}.pdf"

        run("quote", RESTRING, "--book", book, "--pdf", pdf)

        widths.append(round(float(PdfReader(pdf).pages[0].mediabox.width)))

    assert widths == [612, 595]  # Letter, and A4 by ISO 216


def test_a_pdf_that_cannot_be_written_is_refused(tmp_path):
    assert "nowhere" in refused("quote", RESTRING, "--pdf", tmp_path / "nowhere" / "quote.pdf")


def test_check_has_nothing_to_say_about_the_demo_book():
    result = run("book", "check", config.demo_book())
    assert (result.exit_code, result.stdout, result.stderr) == (0, "Nothing to mend.\n", "")


def test_check_prints_what_to_look_at_with_file_row_and_column(book):
    jobs = book / "jobs.csv"
    jobs.write_text(jobs.read_text("utf-8").replace(",Restring,", f",{'Restring ' * 7},"), "utf-8")
    result = run("book", "check", book)
    row = next(
        n for n, line in enumerate(jobs.read_text("utf-8").splitlines(), 1) if line.startswith("restring,")
    )
    assert result.exit_code == 2
    assert f"jobs.csv, row {row}, name: 62 characters do not fit" in result.stdout
    assert result.stderr == f"{len(result.stdout.splitlines())} to look at.\n"


def test_check_refuses_a_book_that_cannot_be_read(book, tmp_path):
    assert "no such folder" in refused("book", "check", tmp_path / "nothing")
    (book / "woods.csv").unlink()
    assert refused("book", "check", book).startswith("woods.csv: This file is missing.")


def test_try_shows_which_rules_fire(case):
    table = case("hit policy,first\nrelief [in],then finding\n>0.010,high\n-,fine\n", "t.csv")
    result = run("book", "try", table, case('{"relief": "0.3 mm"}', "inputs.json"))
    assert json.loads(result.stdout) == {"rows": [1], "outputs": [{"finding": "high"}]}
    exact = run("book", "try", table, case('{"relief": 0.010}', "inputs.json"))
    assert json.loads(exact.stdout)["rows"] == [2]


@pytest.mark.parametrize(
    ("inputs", "said"),
    [("{", "inputs.json, row 1: This is not JSON"), ("[]", "inputs.json: The inputs are one table"),
     ('{"relief": "3 lbf"}', "pounds of force")],
)  # fmt: skip
def test_try_refuses_faulty_inputs(case, inputs, said):
    table = case("hit policy,first\nrelief [in],then finding\n>0.010,high\n", "t.csv")
    assert said in refused("book", "try", table, case(inputs, "inputs.json"))


def test_try_refuses_a_faulty_table(case):
    table = case("hit policy,first\nrelief [in],then finding\n>high,x\n", "t.csv")
    assert "t.csv, row 3, relief [in]" in refused("book", "try", table, case("{}", "inputs.json"))


def test_sources_name_one_for_every_reading():
    lines = run("book", "sources").stdout.splitlines()
    assert any(line.startswith(("crown_left ", "crown_left[")) for line in lines)
    each = lines[lines.index("") + 1 :]
    assert {line.split(" [")[0].split(":")[0] for line in each} == set(REGISTRY)
    assert all(line.partition(": ")[2] for line in each)
    assert any(line.startswith("Wood Handbook") for line in lines[: lines.index("")])


def test_serve_says_so_when_the_port_is_taken(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert f"Port {port} is taken" in refused("--data", tmp_path, "serve", "--port", port)


def test_data_folder_is_the_one_given_then_the_variable_then_the_users(tmp_path, monkeypatch):
    monkeypatch.setenv(config.DATA_VARIABLE, str(tmp_path / "variable"))
    assert config.data_folder(tmp_path / "given") == tmp_path / "given"
    assert config.data_folder() == tmp_path / "variable"
    monkeypatch.delenv(config.DATA_VARIABLE)
    assert config.data_folder().name == "tallyfret"


def test_templates_static_files_and_the_demo_book_are_found():
    for name in ("templates", "static", "pricing_demo"):
        assert (config.data_root() / name).is_dir()
