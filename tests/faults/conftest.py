"""The faults live beside the benchmark that prints their table."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "bench"))
