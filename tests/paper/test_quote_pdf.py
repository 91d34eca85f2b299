"""The quote as a customer holds it: read back from the PDF."""

from __future__ import annotations

import io
import logging
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import pytest
from PIL import Image
from pypdf import PdfReader

from intake.book.model import Book
from intake.paper import DocumentOptions, PaperError, quote_html, render_quote_pdf
from intake.quoting.model import Finding, Line, Quote, Walkin

Case = tuple[Quote, Walkin]
URL = "https://shop.example/t/0192f0c1-7d2e-7a51-8b6f-3f0a9f6c2d11"
USUAL = DocumentOptions("1042", URL, "Ada")
SIZES = {"letter": (612, 792), "a4": (595, 842)}


def render(case: Case, book: Book, **more: Any) -> PdfReader:
    quote, walkin = case
    return PdfReader(io.BytesIO(render_quote_pdf(quote, book, walkin, replace(USUAL, **more))))


def html(case: Case, book: Book, **more: Any) -> str:
    quote, walkin = case
    return quote_html(quote, book, walkin, replace(USUAL, **more))


def words(pdf: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


def test_the_full_quote_says_everything(full: Case, book: Book) -> None:
    text = words(render(full, book))
    for expected in (
        "Repair quote 1042", "Harbour Lane Strings", "November 25, 2026 by Ada", "R. Okafor",
        "“Hard to play up the neck and a rattle on the third string.”", "Serial 0817, about 1934",
        "9/64 in", "5/64 in to 7/64 in", "2/64 in too high", "0.001 in too low", "Heights are drawn",
        "What we would do", "$1,206.31", "62% of what the instrument is worth", "Ready Fri December 18",
        "$301.58 deposit to start", "yes by December 2, 2026", "2. Reglue a loose brace × 2 (brace)",
        "After levelling 0.029 in would be left; 0.030 in is the least.", "Includes: Put on new strings",
        "Forecast: measured again after “Humidify slowly”", "Strings off and on, done once", "-$34.00",
        "Sales tax 8 %", "Old lacquer may chip at the nut.", "Not assessed: Top and bridge",
        "Neck: Heel depth", "Judged by eye, not measured: Cracks and braces (Places)",
        "The customer needs it for a wedding.", "Removed parts go back to you.", "Signature",
        "good until December 25, 2026", "1 of", "A slight hump at the body join: look again in a year.",
    ):  # fmt: skip
        assert expected in text, expected
    assert URL in text.replace(" ", "")


def test_each_offers_sum_can_be_followed(full: Case, book: Book) -> None:
    text = words(render(full, book))
    assert "Jobs $810.00 $1,122.50 $1,182.50" in text
    assert "Shop supplies – $28.45 $28.45" in text
    assert "Total $838.08 $1,206.31 $1,271.11" in text


def test_a_sum_that_does_not_add_up_is_not_printed(full: Case, book: Book) -> None:
    quote, walkin = full
    wrong = replace(quote.offers["put_right"], total=Decimal("1.00"))
    with pytest.raises(PaperError, match="add up"):
        html((replace(quote, offers={**quote.offers, "put_right": wrong}), walkin), book)


def test_tax_inside_prices_is_named_under_the_total(simple: Case, make: SimpleNamespace) -> None:
    quote, walkin = simple
    taxes = (Line("included", make.text("sales tax"), Decimal("3.33")),)
    offers = {
        tier: replace(offer, lines=(), total=Decimal("45.00"), tax=Decimal("3.33"), taxes=taxes)
        for tier, offer in quote.offers.items()
    }
    text = words(render((replace(quote, offers=offers), walkin), make.book()))
    assert "Total $45.00 of which sales tax $3.33" in text


def test_rounding_is_reckoned_after_tax(full: Case, book: Book, make: SimpleNamespace) -> None:
    quote, walkin = full
    offers = {}
    for tier, offer in quote.offers.items():
        cents = offer.total - offer.total.quantize(Decimal(1))
        lines = (Line("rounding", make.text("Rounding"), -cents), *offer.lines)
        offers[tier] = replace(offer, lines=lines, total=offer.total - cents)
    page = html((replace(quote, offers=offers), walkin), book)
    assert page.index("Strings off and on") < page.index("Sales tax 8 %") < page.index(">Rounding<")


def test_equal_offers_are_one_and_carry_no_mark(simple: Case, book: Book) -> None:
    text = words(render(simple, book))
    assert "What we offer" in text and "What we would do" not in text
    assert text.count("$48.60") == 3  # on the card, under the jobs, beside the box to tick
    assert "What we measured" not in text


def test_a_quote_without_jobs_says_so(simple: Case, book: Book, make: SimpleNamespace) -> None:
    quote, walkin = simple
    offers = {tier: make.offer(tier, ()) for tier in quote.offers}
    assert "Nothing needs doing." in words(render((replace(quote, jobs=(), offers=offers), walkin), book))


@pytest.mark.parametrize("paper", SIZES)
def test_every_page_has_the_paper_asked_for(full: Case, book: Book, paper: str) -> None:
    for page in render(full, book, paper=paper).pages:
        assert (round(page.mediabox.width), round(page.mediabox.height)) == SIZES[paper]


def test_other_paper_is_refused(full: Case, book: Book) -> None:
    with pytest.raises(PaperError, match="legal"):
        html(full, book, paper="legal")


def test_the_file_is_tagged_and_names_its_language(full: Case, book: Book) -> None:
    pdf = render(full, book)
    root = pdf.trailer["/Root"]
    assert pdf.metadata.title == "Quote 1042 · Harbour Lane Strings"
    assert root["/Lang"] == "en" and root["/MarkInfo"]["/Marked"]
    assert b"pdfuaid" in root["/Metadata"].get_data()


def fonts(pdf: PdfReader) -> set[str]:
    resources = [font for page in pdf.pages for font in page["/Resources"]["/Font"].values()]
    return {str(font.get_object()["/BaseFont"]) for font in resources}


def test_only_our_own_fonts_are_in_the_file(full: Case, book: Book) -> None:
    names = fonts(render(full, book))
    assert names and all("Barlow" in name and "Ext" not in name for name in names)


def test_names_of_central_europe_are_written_in_our_own_fonts(full: Case, book: Book) -> None:
    quote, walkin = full
    answers = {**walkin.answers, "customer_name": "Božena Łódź-Dvořáková", "complaint_words": "Hraje špatně"}
    names = fonts(render((quote, Walkin(answers)), book))
    assert all("Barlow" in name for name in names) and any("Barlow-Ext" in name for name in names)


def test_nothing_is_complained_about(full: Case, book: Book, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING):
        render(full, book)
    assert not caplog.records


def test_the_code_holds_the_address(full: Case, book: Book) -> None:
    page = html(full, book)
    other = html(full, book, url=URL + "2")
    code = page[page.index('class="code"') :]
    assert "qrline" in code and code != other[other.index('class="code"') :]
    assert f"<title>Code for a phone’s camera: {URL}</title>" in code


def test_french(full: Case, book: Book) -> None:
    text = words(render(full, book, language="fr"))
    for expected in (
        "Devis de réparation 1042",
        "25 novembre 2026",
        "Ce que nous ferions",
        "0,008 in",
        "1 sur",
    ):
        assert expected in text, expected
    assert "$1,206.31" in text  # money as the shop writes it


def test_measures_typed_in_millimetres_are_answered_in_them(full: Case, book: Book) -> None:
    quote, walkin = full
    text = words(render((quote, Walkin({**walkin.answers, "action_bass_12": "3.57 mm"})), book))
    assert "3.57 mm" in text and "1.98 mm to 2.78 mm" in text


@pytest.mark.parametrize(("language", "words"), [("en", "Tax stands on a line"), ("fr", "La taxe figure")])
def test_a_shop_without_terms_has_neutral_ones(
    full: Case, make: SimpleNamespace, language: str, words: str
) -> None:
    own = html(full, make.book(), language=language)
    neutral = html(full, make.book(terms=()), language=language)
    assert words in neutral and words not in own
    law = {"en": "consumer law of your place decides", "fr": "droit de la consommation de votre lieu"}
    assert law[language] in own and law[language] in neutral


def test_a_stop_stands_first_with_what_it_holds(full: Case, book: Book, make: SimpleNamespace) -> None:
    quote, walkin = full
    stop = Finding("mains", "stop", make.text("A licensed technician must open it."), ())
    assessment = replace(quote.assessment, findings=(stop,))
    page = html((replace(quote, assessment=assessment, held=("setup",)), walkin), book)
    assert page.index("A licensed technician") < page.index("What we measured")
    assert "settled: Full setup" in page


def test_a_shared_reason_is_printed_once(full: Case, book: Book) -> None:
    quote, walkin = full
    jobs = tuple(replace(job, reasons=quote.jobs[2].reasons) for job in quote.jobs)
    page = html((replace(quote, jobs=jobs), walkin), book)
    assert page.count("the saddle would show") == 1
    assert page.count("For the same reason as job 3") == 4


def test_photos_are_printed_without_their_place(full: Case, book: Book) -> None:
    image = Image.new("RGB", (3000, 2000), "tan")
    exif = Image.Exif()
    exif[0x010E] = "taken at 14 Secret Street"
    picture = io.BytesIO()
    image.save(picture, "JPEG", exif=exif)
    quote, walkin = full
    photos = [("Open crack", picture.getvalue()), ("No picture", b"%PDF-1.4 not a picture")]
    data = render_quote_pdf(quote, book, walkin, DocumentOptions("1", URL, photos=photos))
    pdf = PdfReader(io.BytesIO(data))
    assert b"Secret" not in data
    images = {image.name: image.image.width for page in pdf.pages for image in page.images}
    assert len(images) == 1 and max(images.values()) <= 1400
    assert "Open crack" in words(pdf) and "No picture" in words(pdf)


def test_a_long_quote_breaks_well(make: SimpleNamespace) -> None:
    """25 jobs, long words, markup and other scripts in every place people type into."""
    nasty = '<script>alert("x")</script> & “quotes” \' Ångström œuvre {{ 7*7 }} ' + "w" * 100
    jobs = tuple(
        make.planned(
            f"job-{n}",
            f"Job {n} {nasty}",
            "10.00",
            reasons=tuple(make.text(f"Why {n}.{k} {nasty}") for k in range(3)),
        )
        for n in range(25)
    )
    offers = {
        "playable": make.offer("playable", jobs[:8]),
        "put_right": make.offer("put_right", jobs[:20]),
        "everything": make.offer("everything", jobs),
    }
    quote = make.quote(make.assessment(make.facts), jobs, offers, notes=(make.text(nasty),))
    answers = {"customer_name": nasty, "complaint_words": nasty * 3, "maker_words": nasty, "serial": nasty}
    case = quote, Walkin(answers)
    assert "<script>" not in html(case, make.book())
    pdf = render(case, make.book(name="Harbour Lane <Strings>"))
    text = words(pdf)
    assert "<script>alert" in text and "{{ 7*7 }}" in text
    pages = [" ".join(page.extract_text().split()) for page in pdf.pages]
    with_jobs = [page for page in pages if "Why " in page]
    assert len(with_jobs) >= 3
    assert all("Job and why Hours Playable Put right Everything" in page for page in with_jobs)
    for n in range(25):
        assert sum(f"Why {n}.0 " in page and f"Why {n}.2 " in page for page in pages) == 1, n
    last = next(page for page in pages if "Total" in page)
    assert "Jobs $80.00 $200.00 $250.00" in last and "Job 24" not in text[text.index("Jobs $80.00") :]


def test_hours_are_one_number_where_both_ends_agree(simple: Case, book: Book) -> None:
    quote, walkin = simple
    offers = {
        tier: replace(offer, hours_low=Fraction(1, 2), hours_high=Fraction(1, 2))
        for tier, offer in quote.offers.items()
    }
    assert "0.5 h at the bench" in html((replace(quote, offers=offers), walkin), book)
