"""A text of the book in its languages."""

from __future__ import annotations


class Text(dict[str, str]):
    """One text in several languages: language code → words; "en" always stands."""

    def in_(self, language: str) -> str:
        """The words in that language (of `fr` for `fr-CA`), else in English."""
        return self.get(language) or self.get(language.split("-")[0]) or self["en"]

    def __str__(self) -> str:
        return self["en"]
