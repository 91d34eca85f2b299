"""The child process that turns HTML into PDF: `python -m intake.paper.press`.

It reads requests from stdin and answers on stdout, both as one line of JSON followed by `length`
bytes, and ends when stdin closes. Style sheet and fonts are read once and kept.
"""

from __future__ import annotations

import faulthandler
import gc
import logging
import os
import signal
import sys
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any, BinaryIO
from xml.etree import ElementTree

from intake.config import data_root
from intake.paper.wire import OUT_OF_MEMORY, read_message, write_message

BASE = "tallyfret:/"
Render = Callable[[str, Sequence[Mapping[str, str]]], bytes]


class _Kept(logging.Handler):
    """Keeps WeasyPrint's warnings so that the answer can carry them; not their arguments, which quote what is
    printed, and so a person."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(str(record.msg)[:300])


def make_renderer() -> Render:
    """A function from HTML and attachments to PDF/UA-1 bytes, with style and fonts loaded.

    An attachment has `name`, `description`, `day` (ISO) and `text`. Needs Pango (else OSError).
    """
    from cssselect2 import ElementWrapper
    from weasyprint import CSS, HTML, Attachment
    from weasyprint.text.fonts import FontConfiguration

    from intake.paper.fetcher import OwnFilesOnly
    from intake.paper.finish import finish

    static = data_root() / "static"
    fetcher = OwnFilesOnly(static)
    fonts = FontConfiguration()
    sheet = (static / "css" / "paper.css").read_text("utf-8")
    style = CSS(string=sheet, base_url="tallyfret:/css/paper.css", url_fetcher=fetcher, font_config=fonts)

    def attachment(file: Mapping[str, str]) -> Attachment:
        day = datetime.fromisoformat(file["day"])
        return Attachment(
            string=file["text"], name=file["name"], description=file["description"], created=day, modified=day
        )

    class Page(HTML):
        """A page that was read already: what `HTML` keeps of one, without its own reading of it."""

        def __init__(self, root: ElementTree.Element) -> None:
            self.base_url, self.url_fetcher, self.media_type = BASE, fetcher, "print"
            self.wrapper_element = ElementWrapper.from_html_root(root, content_language=None)
            self.etree_element = self.wrapper_element.etree_element

    def read(html: str) -> HTML:
        """Our templates are well-formed XML, which expat reads in a tenth of the time; a sign that XML
        does not know (a control character that somebody typed) goes the slower way."""
        try:
            return Page(ElementTree.fromstring(html))
        except ElementTree.ParseError:
            return HTML(string=html, base_url=BASE, url_fetcher=fetcher)

    def render(html: str, files: Sequence[Mapping[str, str]]) -> bytes:
        return read(html).write_pdf(
            finisher=finish, stylesheets=[style], font_config=fonts, pdf_variant="pdf/ua-1",
            attachments=[attachment(file) for file in files],
        )  # fmt: skip

    return render


def give_way() -> None:
    """Let whoever saves have the processor first, where the platform knows of that."""
    if hasattr(os, "nice"):
        os.nice(10)


def limit_memory(size: int) -> None:
    """Cap this process's address space at `size` bytes, where the platform has such a cap."""
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (size, size))
    except (ImportError, ValueError, OSError):
        return


def _answer(render: Render, header: dict[str, Any], body: bytes, kept: _Kept) -> tuple[dict[str, Any], bytes]:
    """One rendering under its own watchdog, which ends this process even if nobody is left to kill it."""
    kept.lines.clear()
    faulthandler.dump_traceback_later(header["seconds"] + 5, exit=True, file=sys.stderr)
    try:
        pdf = render(body.decode(), header.get("files", ()))
    except MemoryError:
        raise
    except Exception as problem:  # whatever a document provokes must reach the caller as words
        return {"error": type(problem).__name__}, b""
    finally:
        faulthandler.cancel_dump_traceback_later()
    return {"warnings": list(dict.fromkeys(kept.lines))[:20]}, pdf


def _claim_pipes() -> tuple[BinaryIO, BinaryIO]:
    """stdin and stdout for messages alone: whatever else is printed here goes to stderr."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    return sys.stdin.buffer, answers


def main(memory: int) -> None:
    """Serve until stdin closes. The interrupt of a terminal is left to the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    give_way()
    requests, answers = _claim_pipes()
    limit_memory(memory)
    kept = _Kept()
    logging.getLogger("weasyprint").addHandler(kept)
    logging.getLogger("weasyprint").propagate = False
    try:
        render = make_renderer()
    except (OSError, ImportError) as problem:
        write_message(answers, {"error": str(problem)[:500], "pango": isinstance(problem, OSError)})
        return
    gc.disable()  # nobody waits for what is tidied up between two documents
    write_message(answers, {"ready": True})
    try:
        while (request := read_message(requests)) is not None:
            write_message(answers, *_answer(render, *request, kept))
            gc.collect()
    except MemoryError:  # there is not even room for the words that say so
        os._exit(OUT_OF_MEMORY)


if __name__ == "__main__":
    main(int(sys.argv[1]))
