"""What people may look for an axis by, as texts: names, titles, serial numbers, orders, people.

A text stands here once, with the axes that have it. What snapshots say is entered with them and
stays; what the files at the tip say is entered by whoever asks, for axes whose folder changed.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from unicodedata import combining, normalize
from zlib import crc32

from vault.model.names import Address
from vault.model.snapshots import SnapshotRecord
from vault.store.index._reading import DamagedIndex, first_row, rows
from vault.store.local.sqlite_file import writing

TABLES = """
CREATE TABLE texts (
  id INTEGER PRIMARY KEY, kind TEXT NOT NULL, text TEXT NOT NULL, plain TEXT NOT NULL,
  crc INTEGER NOT NULL, UNIQUE (kind, text)
);
CREATE TABLE text_axes (
  text INTEGER NOT NULL, machine TEXT NOT NULL, axis TEXT NOT NULL, of_file INTEGER NOT NULL,
  PRIMARY KEY (text, machine, axis, of_file)
) WITHOUT ROWID;
CREATE INDEX texts_of_axis ON text_axes (machine, axis, of_file);
CREATE TABLE text_folders (
  machine TEXT NOT NULL, axis TEXT NOT NULL, folder TEXT NOT NULL, PRIMARY KEY (machine, axis)
);
"""
Text = tuple[str, str]
"""Its kind (`serial`, `title`, `taken by`), and what it says."""

_WORD = re.compile(r"[^\W_]+")
_ORDER = (
    "plain <> ?1, substr(plain, 1, length(?1)) <> ?1, NOT instr(plain, ?1),"
    " kind <> 'name', length(plain), text"
)


@dataclass(frozen=True, slots=True)
class TextHit:
    """A text that has what was looked for, with its number and as it is compared."""

    number: int
    kind: str
    text: str
    plain: str


def plain(text: str) -> str:
    """A text as it is compared: small letters without accents, a blank before each word."""
    folded = normalize("NFKD", text).casefold()
    bare = "".join(letter for letter in folded if not combining(letter))
    return "".join(f" {word}" for word in _WORD.findall(bare))


def rank(wanted: str, text: str) -> int | None:
    """How well a plain text has a plain one: 0 all of it, 1 at its begin, 2 at that of a word,
    3 within, 4 its words apart; None not at all.
    """
    if wanted == text:
        return 0
    if wanted in text:
        return 1 if text.startswith(wanted) else 2
    if wanted[1:] in text:
        return 3
    return 4 if all(word in text for word in wanted.split()) else None


def person(text: str) -> str:
    """A name without its mail."""
    return text.partition(" <")[0]


def of_snapshot(record: SnapshotRecord) -> Iterator[Text]:
    """What a snapshot says that its axis may be looked for by."""
    yield "taken by", person(record.by)
    if record.work_order:
        yield "work order", record.work_order
    for key, text in record.nameplate.items():
        if text.strip().strip("0"):  # zeros alone name no drive
            yield key, text


def enter(
    database: sqlite3.Connection, address: Address, found: Iterable[Text], *, of_file: bool = False
) -> None:
    """Enter what an axis may be looked for by. Call within a transaction."""
    for kind, text in found:
        known = _number(database, kind, text)
        if known is None:
            done = database.execute(
                "INSERT INTO texts (kind, text, plain, crc) VALUES (?, ?, ?, ?)",
                (kind, text, plain(text), crc32(text.encode())),
            )
            known = int(done.lastrowid or 0)
        row = (known, *address.key, of_file)
        database.execute("INSERT OR IGNORE INTO text_axes VALUES (?, ?, ?, ?)", row)


def _number(database: sqlite3.Connection, kind: str, text: str) -> int | None:
    question = "SELECT id FROM texts WHERE kind = ? AND text = ?"
    known = first_row(database, (int,), question, kind, text)
    return None if known is None else known[0]


def follow_files(
    database: sqlite3.Connection,
    tip: str,
    folders: Callable[[], Mapping[Address, str]],
    read: Callable[[Address], Iterable[Text]],
) -> None:
    """Enter what the files at the tip say: `folders` is what they rest on, `read` gives the texts.

    Of an axis for which that is as it was when this was asked last, nothing is read. A machine is
    an axis without a name.
    """
    state = first_row(database, (str | None,), "SELECT texts_at FROM state")
    if state is not None and state[0] == tip:
        return
    with writing(database):
        present = folders()
        known = {
            Address.of_key(machine, axis): folder
            for machine, axis, folder in rows(
                database, (str, str, str), "SELECT machine, axis, folder FROM text_folders"
            )
        }
        for address in known.keys() - present.keys():
            _forget(database, address)
        for address, folder in present.items():
            if known.get(address) != folder:
                _forget(database, address)
                enter(database, address, read(address), of_file=True)
                row = (*address.key, folder)
                database.execute("INSERT INTO text_folders VALUES (?, ?, ?)", row)
        database.execute("UPDATE state SET texts_at = ?", (tip,))


def _forget(database: sqlite3.Connection, address: Address) -> None:
    names = address.key
    database.execute("DELETE FROM text_axes WHERE machine = ? AND axis = ? AND of_file = 1", names)
    database.execute("DELETE FROM text_folders WHERE machine = ? AND axis = ?", names)


def matching(
    database: sqlite3.Connection, wanted: str, kinds: Sequence[str], most: int, *, others: bool
) -> list[TextHit]:
    """Texts of some kinds that have a plain text, best first; with `others` those of all others."""
    words = wanted.split()
    has = " AND ".join(f"instr(plain, ?{place}) > 0" for place in range(2, len(words) + 2))
    after = len(words) + 2
    listed = ", ".join(f"?{place}" for place in range(after, after + len(kinds)))
    found = rows(
        database, (int, str, str, str, int),
        f"SELECT id, kind, text, plain, crc FROM texts WHERE {has}"
        f" AND +kind {'NOT ' * others}IN ({listed})"
        " AND EXISTS (SELECT 1 FROM text_axes WHERE text_axes.text = texts.id)"
        f" ORDER BY {_ORDER} LIMIT {int(most)}",
        wanted, *words, *kinds,
    )  # fmt: skip
    return [_sound(*row) for row in found]


def of_kind(database: sqlite3.Connection, kind: str) -> list[TextHit]:
    """All texts of a kind that an axis has."""
    found = rows(
        database, (int, str, str, str, int),
        "SELECT id, kind, text, plain, crc FROM texts WHERE kind = ?"
        " AND EXISTS (SELECT 1 FROM text_axes WHERE text_axes.text = texts.id) ORDER BY text",
        kind,
    )  # fmt: skip
    return [_sound(*row) for row in found]


def _sound(number: int, kind: str, text: str, as_compared: str, crc: int) -> TextHit:
    if crc32(text.encode()) != crc:
        raise DamagedIndex("a text is not as it was entered")
    return TextHit(number, kind, text, as_compared)


def all_texts(database: sqlite3.Connection) -> dict[str, str]:
    """Every text, of whatever kind, by how it is compared."""
    return dict(rows(database, (str, str), "SELECT plain, text FROM texts"))


def axes_with(database: sqlite3.Connection, number: int, most: int) -> list[Address]:
    """Some axes that have a text, by name."""
    question = "SELECT DISTINCT machine, axis FROM text_axes WHERE text = ? ORDER BY 1, 2 LIMIT ?"
    return [Address.of_key(*names) for names in rows(database, (str, str), question, number, most)]


def count_with(database: sqlite3.Connection, number: int) -> int:
    """How many axes have a text."""
    question = "SELECT count(*) FROM (SELECT DISTINCT machine, axis FROM text_axes WHERE text = ?)"
    counted = first_row(database, (int,), question, number)
    return counted[0] if counted else 0


def count_of_machine(database: sqlite3.Connection, machine: str) -> int:
    """How many axes a machine has."""
    question = "SELECT count(*) FROM text_folders WHERE machine = ? AND axis <> ''"
    counted = first_row(database, (int,), question, machine)
    return counted[0] if counted else 0


def text_of(database: sqlite3.Connection, address: Address, kind: str) -> str:
    """The text of a kind that the files of an axis say now; empty where they say none."""
    found = first_row(
        database, (str,),
        "SELECT t.text FROM text_axes AS a JOIN texts AS t ON t.id = a.text"
        " WHERE a.machine = ? AND a.axis = ? AND a.of_file = 1 AND t.kind = ? LIMIT 1",
        *address.key, kind,
    )  # fmt: skip
    return found[0] if found else ""


def codes_with(database: sqlite3.Connection, wanted: str, most: int) -> list[tuple[str, str]]:
    """Codes of parameters, and a name of each, that have a text without regard to small letters."""
    found = rows(
        database, (str, str),
        "SELECT code, name FROM codes WHERE instr(lower(code), ?1) OR instr(lower(name), ?1)"
        " ORDER BY lower(code) <> ?1, length(name), code LIMIT ?2",
        wanted.strip().lower(), most,
    )  # fmt: skip
    return [(code, name) for code, name in found]


def entered(database: sqlite3.Connection, address: Address, *, of_file: bool) -> set[Text]:
    """What stands here of an axis, each text as it is found by; a damaged one as nothing said."""
    found = rows(
        database, (str, str, str, int),
        "SELECT t.kind, t.text, t.plain, t.crc FROM text_axes AS a JOIN texts AS t ON t.id = a.text"
        " WHERE a.machine = ? AND a.axis = ? AND a.of_file = ?",
        *address.key, str(int(of_file)),
    )  # fmt: skip
    return {
        (kind, text) if compared == plain(text) and crc == crc32(text.encode()) else (kind, "")
        for kind, text, compared, crc in found
    }


def files_entered(database: sqlite3.Connection) -> dict[Address, str]:
    """Of which axes and machines texts of files stand here, and what they rest on."""
    question = "SELECT machine, axis, folder FROM text_folders"
    found = rows(database, (str, str, str), question)
    return {Address.of_key(machine, axis): folder for machine, axis, folder in found}


def axes_entered(database: sqlite3.Connection) -> set[Address]:
    """Axes and machines of which any text stands here."""
    found = rows(database, (str, str), "SELECT DISTINCT machine, axis FROM text_axes")
    return {Address.of_key(*names) for names in found}
