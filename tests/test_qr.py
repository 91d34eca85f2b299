"""QR codes: one drawing for pages and paper, the same code at the terminal."""

from __future__ import annotations

from xml.etree import ElementTree

from intake.qr import qr_svg, qr_terminal

ADDRESS = "https://192.168.1.5:8642/enrol?code=abcdefghijklmnop"
TITLE = "{http://www.w3.org/2000/svg}title"


def test_the_svg_is_a_square_with_a_title_and_nothing_that_the_csp_refuses() -> None:
    drawn = qr_svg(ADDRESS, "Address <of> the counter")

    svg = ElementTree.fromstring(drawn)
    _, _, width, height = svg.attrib["viewBox"].split()

    assert svg.findtext(TITLE) == "Address <of> the counter"
    assert width == height
    assert "style" not in drawn and "script" not in drawn


def test_the_terminal_and_the_svg_show_the_same_code() -> None:
    rows = qr_terminal(ADDRESS).splitlines()

    size = int(ElementTree.fromstring(qr_svg(ADDRESS, "x")).attrib["viewBox"].split()[-1])

    assert {len(row) for row in rows} == {size}
    assert len(rows) == (size + 1) // 2
    assert qr_svg(ADDRESS, "x") != qr_svg(ADDRESS + "2", "x")
