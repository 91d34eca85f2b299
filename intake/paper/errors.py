"""What can go wrong with paper, in sentences that may be shown."""

from __future__ import annotations

from intake.i18n import _


class PaperError(Exception):
    """The document was not made; the message says why and what to do."""


class PangoMissingError(PaperError):
    """WeasyPrint is here but the text library it draws with is not."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "PDF needs the Pango text library. On Debian or Ubuntu: "
                "sudo apt install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0. "
                "On macOS: brew install pango."
            )
        )


class TooSlowError(PaperError):
    """The time limit was reached and the worker was stopped."""


class BusyError(PaperError):
    """Every worker was occupied for longer than a caller should wait."""
