"""Names of mutants drawn by a seed, from those that `./run mutate` has made: `bench/mutants.py 300 7`."""

from __future__ import annotations

import json
import random
import sys
from pathlib import Path

MADE = Path(__file__).parents[1] / "mutants"


def main(count: int, seed: int) -> None:
    """Print that many names."""
    files = sorted(MADE.rglob("*.py.meta"))
    names = sorted(name for file in files for name in json.loads(file.read_text("utf-8"))["exit_code_by_key"])
    print(*random.Random(seed).sample(names, min(count, len(names))))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
