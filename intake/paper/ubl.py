"""A quote as data: an OASIS UBL 2.1 Quotation, for those whose programs read prices.

The schema knows one total a document, so it is the quotation of one offer. What the others come to
stands in notes, and so does, at each line, which offers have the job. Amounts are exact to the cent:
lines less allowances plus charges plus tax plus rounding is what is payable, or nothing is written.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from xml.etree import ElementTree

from intake.book.model import Book, Tier
from intake.i18n import _
from intake.paper import labels
from intake.paper.errors import PaperError
from intake.paper.terms import terms_of
from intake.quoting.model import Line, Offer, PlannedJob, Quote, Walkin
from intake.quoting.phrases import phrase

Element = ElementTree.Element

QUOTATION = "urn:oasis:names:specification:ubl:schema:xsd:Quotation-2"
CAC = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"
CBC = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2"
PIECE = "C62"  # "one" in UN/ECE recommendation 20
NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
for _prefix, _space in (("", QUOTATION), ("cac", CAC), ("cbc", CBC)):
    ElementTree.register_namespace(_prefix, _space)
_COUNTRY = re.compile("[A-Z]{2}(?=-|$)")


def quotation_xml(
    quote: Quote,
    book: Book,
    walkin: Walkin,
    *,
    number: str,
    revision: int | None = None,
    tier: Tier = "put_right",
    language: str = "en",
) -> bytes:
    """The offer of that tier as UTF-8 XML. Raises PaperError if it has no jobs, or does not add up."""
    return _Writer(quote, book, walkin, quote.offers[tier], language).write(number, revision)


class _Writer:
    """Writes the parts of one quotation in the order in which the schema wants them."""

    def __init__(self, quote: Quote, book: Book, walkin: Walkin, offer: Offer, language: str) -> None:
        self.quote, self.book, self.walkin = quote, book, walkin
        self.offer, self.language = offer, language
        prices = {job.id: job for job in quote.jobs}
        self.jobs = [prices[id_] for id_ in offer.jobs]

    def write(self, number: str, revision: int | None) -> bytes:
        if not self.jobs:
            raise PaperError(_("There is no job to quote, so there is no quotation to write."))
        root = Element(f"{{{QUOTATION}}}Quotation")
        _basic(root, "UBLVersionID", "2.1")
        _basic(root, "ID", number)
        _basic(root, "IssueDate", self.quote.made_on.isoformat())
        for words in self._notes(revision):
            _basic(root, "Note", words, languageID=self.language)
        _basic(root, "PricingCurrencyCode", self.quote.currency)
        _basic(root, "LineCountNumeric", str(len(self.jobs)))
        validity = _group(root, "ValidityPeriod")
        _basic(validity, "StartDate", self.quote.made_on.isoformat())
        _basic(validity, "EndDate", self.quote.valid_until.isoformat())
        self._seller(root)
        self._buyer(root)
        period = _group(_group(root, "Delivery"), "EstimatedDeliveryPeriod")
        _basic(period, "StartDate", self.offer.first_day.isoformat())
        _basic(period, "EndDate", self.offer.ready.isoformat())
        self._lines_besides(root)
        self._taxes(root)
        self._total(root)
        for at, job in enumerate(self.jobs, 1):
            self._line(root, at, job)
        return ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)

    def _notes(self, revision: int | None) -> list[str]:
        notes = [f"{self._tier(self.offer)}: {_amount(self.offer.total)} {self.quote.currency}"]
        if revision is not None:
            notes.insert(0, f"Revision {revision}")
        notes += [
            f"{self._tier(other)}: {_amount(other.total)} {self.quote.currency} "
            f"({', '.join(labels.job(self.book, id_, self.language) for id_ in other.jobs)})"
            for other in self.quote.offers.values()
            if other.tier != self.offer.tier
        ]
        return [*notes, *terms_of(self.book.shop, self.language)]

    def _tier(self, offer: Offer) -> str:
        return phrase(offer.tier).in_(self.language)

    def _seller(self, root: Element) -> None:
        shop = self.book.shop
        party = _group(_group(root, "SellerSupplierParty"), "Party")
        _basic(_group(party, "PartyName"), "Name", shop.name)
        address = _group(party, "PostalAddress")
        for line in shop.address:
            _basic(_group(address, "AddressLine"), "Line", line)
        if country := _COUNTRY.match(shop.region):
            _basic(_group(address, "Country"), "IdentificationCode", country[0])
        _contact(party, shop.phone, shop.email)

    def _buyer(self, root: Element) -> None:
        name, phone, mail = (
            labels.words(self.walkin.answers, id_)
            for id_ in ("customer_name", "customer_phone", "customer_email")
        )
        if not (name or phone or mail):
            return
        party = _group(_group(root, "BuyerCustomerParty"), "Party")
        if name:
            _basic(_group(party, "PartyName"), "Name", name)
        _contact(party, phone, mail)

    def _besides(self) -> Sequence[Line]:
        """The lines that are no job, no tax and no rounding."""
        return [line for line in self.offer.lines if line.kind not in ("tax", "rounding")]

    def _lines_besides(self, root: Element) -> None:
        for line in self._besides():
            charge = _group(root, "AllowanceCharge")
            _basic(charge, "ChargeIndicator", "true" if line.amount > 0 else "false")
            _basic(charge, "AllowanceChargeReason", line.name.in_(self.language))
            self._money(charge, "Amount", abs(line.amount))

    def _taxes(self, root: Element) -> None:
        rates = {str(tax.name): tax.rate for tax in self.book.shop.taxes}
        for tax in self.offer.taxes:
            total = _group(root, "TaxTotal")
            self._money(total, "TaxAmount", tax.amount)
            _basic(total, "TaxIncludedIndicator", "true" if tax.kind == "included" else "false")
            part = _group(total, "TaxSubtotal")
            self._money(part, "TaxAmount", tax.amount)
            category = _group(part, "TaxCategory")
            name = tax.name.in_(self.language)
            _basic(category, "Name", name)
            if (rate := rates.get(str(tax.name))) is not None:
                _basic(category, "Percent", f"{(rate * 100).normalize():f}")
            _basic(_group(category, "TaxScheme"), "Name", name)

    def _total(self, root: Element) -> None:
        lines = sum((job.price for job in self.jobs), Decimal(0))
        allowed = -_sum(line.amount for line in self._besides() if line.amount < 0)
        charged = _sum(line.amount for line in self._besides() if line.amount > 0)
        rounding = _sum(line.amount for line in self.offer.lines if line.kind == "rounding")
        inside = _sum(tax.amount for tax in self.offer.taxes if tax.kind == "included")
        added = _sum(line.amount for line in self.offer.lines if line.kind == "tax")
        bare = lines - allowed + charged - inside
        if bare + inside + added + rounding != self.offer.total:
            raise PaperError(
                _("The offer “{offer}” does not add up, so it is not written.", offer=self.offer.tier)
            )
        total = _group(root, "QuotedMonetaryTotal")
        for name, amount in (
            ("LineExtensionAmount", lines), ("TaxExclusiveAmount", bare),
            ("TaxInclusiveAmount", bare + inside + added), ("AllowanceTotalAmount", allowed),
            ("ChargeTotalAmount", charged), ("PayableRoundingAmount", rounding),
            ("PayableAmount", self.offer.total),
        ):  # fmt: skip
            self._money(total, name, amount)

    def _line(self, root: Element, at: int, job: PlannedJob) -> None:
        line = _group(root, "QuotationLine")
        _basic(line, "ID", str(at))
        for words in self._said_of(job):
            _basic(line, "Note", words, languageID=self.language)
        _basic(line, "Quantity", str(job.quantity), unitCode=PIECE)
        self._money(line, "LineExtensionAmount", job.price)
        item = _group(line, "LineItem")
        _basic(item, "ID", str(at))
        _basic(item, "Quantity", str(job.quantity), unitCode=PIECE)
        self._money(item, "LineExtensionAmount", job.price)
        price = _group(item, "Price")
        self._money(price, "PriceAmount", job.price)
        # The price of all of them: that of one may not be a whole number of cents.
        _basic(price, "BaseQuantity", str(job.quantity), unitCode=PIECE)
        thing = _group(item, "Item")
        for reason in labels.texts(self.language, job.reasons):
            _basic(thing, "Description", reason, languageID=self.language)
        _basic(thing, "Name", job.name.in_(self.language))
        _basic(_group(thing, "SellersItemIdentification"), "ID", job.id)

    def _said_of(self, job: PlannedJob) -> Iterable[str]:
        yield ", ".join(self._tier(offer) for offer in self.quote.offers.values() if job.id in offer.jobs)
        if job.forecast:
            yield phrase("forecast").in_(self.language)

    def _money(self, parent: Element, name: str, amount: Decimal) -> None:
        _basic(parent, name, _amount(amount), currencyID=self.quote.currency)


def _group(parent: Element, name: str) -> Element:
    return ElementTree.SubElement(parent, f"{{{CAC}}}{name}")


def _basic(parent: Element, name: str, words: str, **attributes: str) -> None:
    element = ElementTree.SubElement(parent, f"{{{CBC}}}{name}", attributes)
    element.text = NOT_XML.sub("\ufffd", words)


def _contact(party: Element, phone: str, mail: str) -> None:
    if phone or mail:
        contact = _group(party, "Contact")
        for name, words in (("Telephone", phone), ("ElectronicMail", mail)):
            if words:
                _basic(contact, name, words)


def _amount(amount: Decimal) -> str:
    """Digits as they stand in the quote, never an exponent."""
    return f"{amount:f}"


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, Decimal(0))
