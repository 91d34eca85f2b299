"""The last touch on a PDF, between WeasyPrint's drawing and the writing of the file.

WeasyPrint 70 leaves three things undone for PDF/UA-1: links without the flag that they print, the text of
running footers marked as content that no structure element holds (so a reader meets it on every page),
and the relationship of an attachment, which it writes for PDF/A-3 alone.
"""

from __future__ import annotations

from typing import Any

PRINTED = 4  # bit 3 of an annotation's flags, ISO 32000-1 table 165
RELATIONSHIP = "/Alternative"  # the same quote in another form, ISO 32000-2 table 43


def finish(_document: Any, pdf: Any) -> None:
    """WeasyPrint's `finisher`: changes `pdf` (a pydyf.PDF) in place."""
    files = []
    for each in pdf.objects:
        kind = each.get("Type") if isinstance(each, dict) else None
        if kind == "/Annot":
            each["F"] = PRINTED
        elif kind == "/Filespec":
            each["AFRelationship"] = RELATIONSHIP
            files.append(each.reference)
    if files:
        pdf.catalog["AF"] = b"[" + b" ".join(files) + b"]"
    if "StructTreeRoot" in pdf.catalog:
        _footers_to_artifacts(pdf)


def _footers_to_artifacts(pdf: Any) -> None:
    """Marked content whose structure element hangs on nothing becomes an artifact."""
    root = _at(pdf, pdf.catalog["StructTreeRoot"])
    held = _held(pdf, root)
    numbers = _at(pdf, root["ParentTree"])["Nums"]
    pages = [each for each in pdf.objects if isinstance(each, dict) and each.get("Type") == "/Page"]
    for page in pages:
        elements = numbers[2 * page["StructParents"] + 1]
        loose = {mcid for mcid, element in enumerate(elements) if element not in held}
        if loose:
            _mark(_at(pdf, page["Contents"]).stream, loose)
            elements[:] = ["null" if mcid in loose else each for mcid, each in enumerate(elements)]


def _mark(stream: list[Any], loose: set[int]) -> None:
    """In the stream a tag, its properties and the operator BDC follow each other."""
    for at, item in enumerate(stream):
        if isinstance(item, dict) and item.get("MCID") in loose and stream[at + 1] == b"BDC":
            stream[at - 1 : at + 2] = ["/Artifact", b"", b"BMC"]


def _held(pdf: Any, root: Any) -> set[bytes]:
    """References of every structure element under the root."""
    held: set[bytes] = set()
    waiting = list(root["K"])
    while waiting:
        reference = waiting.pop()
        if not isinstance(reference, bytes) or reference in held:
            continue
        held.add(reference)
        waiting += _at(pdf, reference).get("K", ())
    return held


def _at(pdf: Any, reference: bytes) -> Any:
    return pdf.objects[int(reference.split()[0])]
