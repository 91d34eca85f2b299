"""From the first tap to the PDF, as somebody at the counter would go."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from intake.book.model import Book, Question
from tests.memo import sample_book

pytestmark = pytest.mark.browser
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def book() -> Book:
    return sample_book()


def answered(book: Book, answers: dict[str, Any], step: str) -> Iterator[tuple[Question, Any]]:
    for question in book.questions.values():
        if question.step == step and question.id in answers:
            yield question, answers[question.id]


def answer(phone: Any, question: Question, given: Any) -> None:
    """Give one answer the way its kind is given."""
    kind = question.kind
    if kind in ("one", "several", "yes_no"):
        said = {True: "yes", False: "no"}.get(given, given) if isinstance(given, bool) else given
        for value in said if isinstance(said, list) else [said]:
            phone.tap(f"[data-q={question.id}] label:has([value={value}])")
    elif kind == "fret_depths":
        phone.tap(".map svg")
        for fret, depth in given.items():
            phone.tap(f"dialog[open] .rule button:text-is('{fret}')")
            offered = phone.page.locator(f"dialog[open] button[value='{depth}']")
            if offered.count():
                phone.tap(f"dialog[open] button[value='{depth}']")
            else:
                phone.write("dialog[open] input", depth)
        phone.tap("dialog[open] .go")
    elif kind == "pins":
        for pin in given:
            pinned(phone, pin)
    elif kind == "part_states":
        for part, state in given.items():
            phone.tap(f"label:has([name='original.{part}'][value={state}])")
    else:
        offered = f"[data-q={question.id}] .rule button[value='{given}']"
        if phone.page.locator(offered).count():
            phone.tap(offered)
        else:
            phone.write(f"#a-{question.id}", str(given))


def pinned(phone: Any, pin: dict[str, Any]) -> None:
    """Touch the drawing, then say what is there."""
    phone.tap(".body")
    for field in ("kind", "state"):
        phone.tap(f"dialog[open] .row:has(+ [name$='.{field}']) button[value='{pin[field]}']")
    for field in ("size", "count"):
        if field in pin:
            phone.tap(f"dialog[open] .rule button[value='{pin[field]}']")
    phone.tap("dialog[open] .go")


def hand_over(phone: Any) -> bytes:
    """From the last step to the bytes of the PDF."""
    phone.page.wait_for_selector("#quote.now")
    phone.page.wait_for_selector("#summary .job")
    phone.next()
    phone.page.wait_for_url("**/quotes/1")
    phone.taps += 1  # See PDF; the download itself is asked for below, since no page shows it
    link = phone.page.get_by_role("link", name="See PDF").get_attribute("href")
    answer = phone.page.request.get(link)
    assert answer.headers["content-type"] == "application/pdf"
    return answer.body()


def jobs(phone: Any) -> list[str]:
    return phone.page.eval_on_selector_all("[data-job]", "rows => rows.map(row => row.dataset.job)")


@pytest.mark.main_path
def test_neck_reset_case_by_thumb(phone: Any, book: Book, record_property: Any) -> None:
    case = tomllib.loads((ROOT / "pricing_demo/walkins/03-old-flat-top-neck-reset.toml").read_text("utf-8"))
    phone.tap("text=New walk-in")
    phone.page.wait_for_selector("html.js")
    for step in book.steps[:-1]:
        phone.page.wait_for_selector(f"#{step.id}.now")
        given = list(answered(book, case["answers"], step.id))
        for question, value in given:
            answer(phone, question, value)
        if given or step.always:
            phone.next()
        else:
            phone.pass_step(step.id, "off")
    pdf = hand_over(phone)
    record_property("taps", phone.taps)
    print(f"neck reset: {phone.taps} taps")
    assert pdf.startswith(b"%PDF-")
    assert "neck-reset" in jobs(phone)
    assert "refret-full" not in jobs(phone)
    assert phone.taps <= 90


def test_plain_restring_takes_few_taps(phone: Any, record_property: Any) -> None:
    phone.tap("text=New walk-in")
    phone.page.wait_for_selector("html.js")
    phone.write("#a-customer_name", "Ines Falk")
    phone.write("#a-customer_phone", "555 0101")
    phone.next()
    phone.tap("label:has([value=steel-string])")
    phone.tap("[data-q=string_count] .rule button[value='6']")
    phone.next()
    phone.tap("label:has([name=complaints][value=restring])")
    phone.tap("#short")
    pdf = hand_over(phone)
    record_property("taps", phone.taps)
    print(f"restring: {phone.taps} taps")
    assert pdf.startswith(b"%PDF-")
    assert jobs(phone) == ["restring"]
    assert phone.taps <= 25


SHARES = """window.shared = []; window.wants = ["application/pdf"];
navigator.canShare = ({ files }) => files.every(file => window.wants.includes(file.type));
navigator.share = async data => { window.shared.push(data); };"""


TAPS_AN_OFFER = "at => document.querySelectorAll('#quote [name=shown]')[at].closest('label').click()"
"""In one step: meanwhile the quote may be fetched anew, and the offer goes on being shown."""


def test_an_offer_is_looked_at_and_looked_at_again(walkin: Any) -> None:
    """An offer is no answer of the walk-in: tapping it back and forth breaks nothing and hides nothing."""
    page = walkin.page
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    walkin.go_to("neck")
    walkin.write("#a-relief", "0.030 in")
    walkin.saved()
    page.goto(page.url.split("#")[0] + "/quote")
    page.wait_for_selector("#quote.now [name=shown]", state="attached")
    offers = page.locator("#quote [name=shown]")
    for at in (1, 0, 1, 0):
        page.evaluate(TAPS_AN_OFFER, at)
        assert offers.nth(at).is_checked()
    assert not walkin.complaints


def test_the_pdf_is_handed_on_without_leaving_the_page(phone: Any) -> None:
    """A PDF opened inside an installed app has no way back: the page stays, the file goes."""
    phone.page.context.add_init_script(SHARES)
    phone.tap("text=New walk-in")
    phone.page.wait_for_selector("html.js")
    phone.write("#a-customer_name", "Ines Falk")
    phone.next()
    phone.tap("label:has([value=steel-string])")
    phone.next()
    phone.tap("label:has([name=complaints][value=restring])")
    phone.tap("#short")
    hand_over(phone)
    page = phone.page.url
    phone.tap("#share")
    shared = phone.page.evaluate(
        "Promise.all(shared.map(async ({ files: [file], ...rest }) =>"
        " [file.name, (await file.text()).slice(0, 5), Object.keys(rest).length]))"
    )
    ((name, start, others),) = shared
    assert name.startswith("quote-") and name.endswith("-1.pdf") and start == "%PDF-" and others == 0
    assert phone.page.url == page
