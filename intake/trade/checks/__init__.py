"""What the maths of the trade gives, beside what a source outside this project gives.

`published_checks()` is data: tests assert each row, and the command line prints them as a table.
A source that could not be opened again says "from memory"; a figure without any outside authority
says "derived", and was computed apart from this code.
"""

from intake.trade.checks import body as body
from intake.trade.checks import frets, neck, strings, wood
from intake.trade.checks.model import Check as Check


def published_checks() -> list[Check]:
    """Every check, by subject: wood, top and back, frets, strings, neck, buzz."""
    return [*wood.checks(), *body.checks(), *frets.checks(), *strings.checks(), *neck.checks()]


def check_lines() -> list[str]:
    """The comparison as text: under each source its rows, value, ours and deviation with their unit."""
    lines, source = [], ""
    for check in published_checks():
        if check.source != source:
            source = check.source
            lines.append(f"{source}:")
        unit = f" {check.unit}" if check.unit else ""
        numbers = f"{check.expected:.6g}{unit}, ours {check.ours:.6g}, off by {check.deviation:+.2g}"
        lines.append(f"  {check.what}: {numbers}{'' if check.holds else ', TOO FAR'}")
    return lines
