"""What the quick tests leave to `./run test --deep`."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest


def some_quick(values: Iterable[Any], every: int) -> list[Any]:
    """Parameters of a test: each `every`-th is quick too, those between are deep."""
    return [
        value if at % every == 0 else pytest.param(value, marks=pytest.mark.deep)
        for at, value in enumerate(values)
    ]
