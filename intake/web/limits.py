"""How much a request may weigh, and how it is read."""

from __future__ import annotations

from flask import Request, current_app, request
from werkzeug.routing import IntegerConverter

TAKES_FILES = frozenset({"wizard.add_photo", "wizard.save_all", "wizard.save_new", "book_editor.bring_in"})
"""Whatever else comes in is text: it may weigh MAX_FORM_MEMORY_SIZE, these MAX_CONTENT_LENGTH."""


class ShortNumber(IntegerConverter):
    """A number in an address that the store can look up, (63 bits); a longer one finds nothing."""

    regex = r"[0-9]{1,15}"


class Sent(Request):
    """A request as the routes may read it: parts of a multipart body that have no name, which no page of ours
    sends and Werkzeug calls None, are left out."""

    def _load_form_data(self) -> None:
        super()._load_form_data()
        for kind in ("form", "files"):
            held = self.__dict__[kind]
            if None in held:
                named = [pair for pair in held.items(multi=True) if pair[0] is not None]
                self.__dict__[kind] = type(held)(named)


def limit_text() -> None:
    """Only photos weigh more than text may; a form without files is read whole into memory."""
    if request.endpoint not in TAKES_FILES or request.mimetype != "multipart/form-data":
        request.max_content_length = current_app.config["MAX_FORM_MEMORY_SIZE"]
