"""How large modules, functions and template lines are: `python bench/sizes.py`."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from statistics import median, quantiles

TOP = Path(__file__).parents[1]
LONGEST_MODULE = 310
LONGEST_TEMPLATE_LINE = 120


def lines_of_functions(source: str) -> Iterator[int]:
    """From `def` to the end of each function, its docstring aside."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            first = node.body[0]
            said = first if ast.get_docstring(node) else None
            docstring = (said.end_lineno or 0) - said.lineno + 1 if said else 0
            yield (node.end_lineno or 0) - node.lineno + 1 - docstring


def main() -> None:
    """Print medians and 90th percentiles, and what is too long."""
    sources = {path: path.read_text("utf-8") for path in sorted((TOP / "intake").rglob("*.py"))}
    modules = {path: len(text.splitlines()) for path, text in sources.items() if path.name != "__init__.py"}
    functions = [size for text in sources.values() for size in lines_of_functions(text)]
    print(f"{len(modules)} modules: median {median(modules.values()):g}, longest {max(modules.values())}")
    most = quantiles(functions, n=10)[-1]
    print(f"{len(functions)} functions: median {median(functions):g}, 90 % ≤ {most:g}")
    for path, size in modules.items():
        if size > LONGEST_MODULE:
            print(f"too long: {path.relative_to(TOP)}, {size} lines")
    for path in sorted((TOP / "templates").rglob("*.html")):
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
            if len(line) > LONGEST_TEMPLATE_LINE:
                print(f"too long: {path.relative_to(TOP)}:{number}, {len(line)} characters")


if __name__ == "__main__":
    main()
