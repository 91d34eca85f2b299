"""Finding tickets: every word that was written down, under the ticket's number, with SQLite's FTS5.

Words are folded alike when they are kept and when they are asked for: no accents, no case. A telephone
number is found from the beginning of any of its groups and by its last four digits or seven, with or
without the zeros before them. The index is written in the transaction that changes the words.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator

from sqlite_utils import Database

COLUMNS = ("name", "phone", "serial", "words")
UNDIVIDED = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "æ": "ae", "œ": "oe", "ı": "i", "þ": "th", "ð": "d"})
"""Letters that Unicode does not take apart into a letter and its accent."""
WORD = re.compile(r"[^\W_]+")
SPEAKING = re.compile(r"[^\W\d_]{3}")
ENDINGS = (4, 7)
SHORTEST = 3
MOST_WORDS = 8
TICKED = "yes"
READY = 6
"""The longest beginning that the index keeps ready."""
Row = tuple[str, str, str, str]


def folded(text: str) -> list[str]:
    """The words of a text without case and accents."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return WORD.findall("".join(c for c in plain if not unicodedata.combining(c)).translate(UNDIVIDED))


def telephone(number: str) -> list[str]:
    """The digits from each group on, and the last ones, all without zeros before them."""
    groups = re.findall(r"\d+", unicodedata.normalize("NFKC", number))
    digits = "".join(groups)
    found = ["".join(groups[at:]) for at in range(len(groups))]
    found += [digits[-length:] for length in ENDINGS if len(digits) > length]
    bare = (tail.lstrip("0") for tail in found)
    return list(dict.fromkeys(tail for tail in bare if len(tail) >= SHORTEST or tail == digits))


def query(words: str) -> str:
    """The FTS5 query that wants every word of it, each as the beginning of one; empty without any word."""
    return " AND ".join(_begins(word) for word in folded(words)[:MOST_WORDS])


def whole(words: str) -> str:
    """The same query with long words as whole ones. It reads only as far as it finds, where the beginning of
    a long word is gathered from the whole index."""
    wanted = folded(words)[:MOST_WORDS]
    return " AND ".join(f'"{word}"' if len(word) > READY else _begins(word) for word in wanted)


def long_ones(words: str) -> str:
    """The query for the long words alone, as whole ones; empty without any."""
    return " AND ".join(f'"{word}"' for word in folded(words)[:MOST_WORDS] if len(word) > READY)


def one_number(words: str) -> str:
    """The query for a telephone number typed in groups; empty if it is none."""
    groups = folded(words)
    digits = "".join(groups).lstrip("0")
    return f'phone : "{digits}"*' if len(groups) > 1 and digits.isdecimal() else ""


def _begins(word: str) -> str:
    number = word.lstrip("0") if word.isdigit() else ""
    return f'("{word}"* OR phone : "{number}"*)' if number and number != word else f'"{word}"*'


def numbers(db: Database, words: str, before: int, limit: int) -> list[int]:
    """Numbers of the tickets with all those words, newest first, all smaller than `before`.

    A telephone number in groups is looked for as one first, and long words as whole ones where they fill a
    page: then the slower question is not asked.
    """
    wanted = query(words)
    if not wanted:
        return []
    number = one_number(words)
    if number and (found := _matching(db, number, before, limit)):
        return found
    return _page_of_whole(db, words, before, limit) or _matching(db, wanted, before, limit)


def _page_of_whole(db: Database, words: str, before: int, limit: int) -> list[int]:
    """A full page of tickets that have the long words as whole ones, or none.

    The long words are asked for alone first. Where they are too rare to fill a page, as most names are, it
    costs little to learn so; beside a common word the index takes ten times as long, only to be asked again.
    """
    alone, narrow = long_ones(words), whole(words)
    if not alone:
        return []
    found = _matching(db, alone, before, limit)
    if len(found) == limit and narrow != alone:
        found = _matching(db, narrow, before, limit)
    return found if len(found) == limit else []


def _matching(db: Database, wanted: str, before: int, limit: int) -> list[int]:
    sql = "select rowid from search where search match ? and rowid < ? order by rowid desc limit ?"
    return [number for (number,) in db.execute(sql, [wanted, before, limit])]


def refresh(db: Database, ticket: str) -> None:
    """Write down what the ticket says now; call it in the transaction that changed it."""
    sql = "select number, name, phone, serial from tickets where id = ?"
    found = db.execute(sql, [ticket]).fetchone()
    if found is None:
        return
    number, name, phone, serial = found
    rows = db.execute("select part, value from parts where ticket = ? order by first", [ticket]).fetchall()
    said = words_in(rows)
    row = row_of(name, phone, serial, said)
    held = db.execute("select name, phone, serial, words from search where rowid = ?", [number]).fetchone()
    if held == row:
        return
    if held:
        db.execute("delete from search where rowid = ?", [number])
    if any(row):
        _insert(db, number, row)


def fill(db: Database) -> None:
    """Write the index of all tickets, if it is empty: after an update, or when it was thrown away."""
    if db.execute("select 1 from search limit 1").fetchone() is None:
        for (ticket,) in db.execute("select id from tickets order by number").fetchall():
            refresh(db, ticket)


def rebuild(db: Database) -> None:
    """Throw the index away and write it anew."""
    db.execute("delete from search")
    fill(db)
    forget(db)


def forget(db: Database) -> None:
    """Have words that were taken out leave the file too: until then they linger in old parts of the index."""
    db.execute("insert into search (search) values ('optimize')")


def row_of(name: str, phone: str, serial: str, words: Iterable[str]) -> Row:
    """What the index holds of a ticket that says so."""
    undivided = "".join(folded(serial))
    return (
        " ".join(folded(name)),
        " ".join(telephone(phone)),
        " ".join(dict.fromkeys([*folded(serial), undivided])),
        " ".join(dict.fromkeys(words)),
    )


def words_in(parts: Iterable[tuple[str, str]]) -> Iterator[str]:
    """What was chosen or written; measures are no words. Of a tick the member is the word."""
    for part, value in parts:
        member = part.partition("/")[2]
        text = member if member and value == TICKED else value
        if SPEAKING.search(text):
            yield from folded(text)


def _insert(db: Database, number: int, row: Row) -> None:
    db.execute(f"insert into search (rowid, {', '.join(COLUMNS)}) values (?, ?, ?, ?, ?)", [number, *row])  # noqa: S608
