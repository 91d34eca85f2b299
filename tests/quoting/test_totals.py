"""pricing_demo/TOTALS.md is current, and every sum that it prints is right, worked out without our code."""

from __future__ import annotations

import ast
import operator
import re
import runpy
from fractions import Fraction
from math import floor
from pathlib import Path

from intake.config import demo_book
from tests.memo import sample_book

ROOT = Path(__file__).parents[2]
PAGE = (demo_book() / "TOTALS.md").read_text("utf-8")
SUM = re.compile(r"(?:^- [^:]*: |[|>] |[|>] ?[\w-]+: )(?P<sum>[^|<:]*[\d)]) = (?P<result>-?\d+(?:\.\d+)?)")


OPERATORS = {ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv}
FUNCTIONS = {"max": max, "min": min, "floor": lambda amount: Fraction(floor(amount * 100), 100)}


def worked_out(text: str) -> Fraction:
    """Numbers, + - × / and brackets, max, min and floor (to the cent), in exact arithmetic."""
    text = text.replace("×", "*")

    def value(node: ast.expr) -> Fraction:
        match node:
            case ast.BinOp(left, sign, right):
                return OPERATORS[type(sign)](value(left), value(right))
            case ast.Call(ast.Name(name), arguments):
                return FUNCTIONS[name](*map(value, arguments))
            case ast.UnaryOp(ast.USub(), inner):
                return -value(inner)
            case ast.Constant():
                return Fraction(ast.get_source_segment(text, node))
        raise ValueError(text)

    return value(ast.parse(text.strip(), mode="eval").body)


def test_the_page_is_current():
    """If this fails, the book changed: look at what `python bench/totals.py` makes of it, and commit it."""
    made = runpy.run_path(str(ROOT / "bench" / "totals.py"))
    assert made["totals_text"](sample_book(), made["sample_walkins"](demo_book())) == PAGE


def test_every_printed_sum_is_right_to_the_cent():
    found = 0
    for line in PAGE.splitlines():
        for match in SUM.finditer(line):
            exact = worked_out(match["sum"])
            rounded = Fraction(floor(abs(exact) * 100 + Fraction(1, 2)), 100)
            assert abs(Fraction(match["result"])) == rounded, line
            found += 1
    assert found == PAGE.count(" = ") - len(re.findall(r"(?:playable|put_right) = ", PAGE)) > 250
