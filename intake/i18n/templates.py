"""Jinja environments with the messages of a language: one for each language, and Flask's own."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_eval_context
from jinja2.nodes import EvalContext
from markupsafe import escape

from intake.config import data_root
from intake.i18n.catalogues import Translations, native_name, translations


@lru_cache
def environment(language: str) -> Environment:
    """Our templates with the messages of that language; all but plain text is escaped."""
    env = Environment(
        loader=FileSystemLoader(data_root() / "templates"),
        autoescape=lambda name: name is None or not name.endswith(".txt"),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    install(env, lambda: language)
    return env


def install(env: Environment, language: Callable[[], str]) -> None:
    """Give an environment `_`, `pgettext`, `ngettext`, and `translated` for the book's own texts.

    `language` is asked at every message.
    """

    def catalogue() -> Translations:
        return translations(language())

    @pass_eval_context
    def gettext(context: EvalContext, message: str, /, **fields: Any) -> str:
        return _filled(context, catalogue().gettext(message), fields)

    @pass_eval_context
    def pgettext(context: EvalContext, meaning: str, message: str, /, **fields: Any) -> str:
        return _filled(context, catalogue().pgettext(meaning, message), fields)

    @pass_eval_context
    def ngettext(context: EvalContext, one: str, many: str, number: int, /, **fields: Any) -> str:
        text = catalogue().catalogue.ngettext(one, many, number)
        return _filled(context, text, {"num": number, **fields})

    env.globals |= {"_": gettext, "pgettext": pgettext, "ngettext": ngettext}
    env.filters["native_name"] = native_name
    env.filters["translated"] = lambda text: text.in_(language())


def _filled(context: EvalContext, text: str, fields: dict[str, Any]) -> str:
    """The text as markup where the template escapes, so that what is typed goes in as words."""
    if not context.autoescape:
        return text.format(**fields) if fields else text
    escaped = escape(text)
    return escaped.format(**fields) if fields else escaped
