"""The text of an EDS of CIP networks: sections of entries, each a row of fields up to `;`.

The grammar is from memory: a comment from `$` to the end of its line, texts in double quotes, of
which neighbours are one, blanks and line ends without meaning.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from vault.formats.ini_lines import CUT_OFF
from vault.model.errors import Unreadable
from vault.model.export import SkippedLine

_TOKEN = re.compile(
    r"""(?P<blank>\s+|\$[^\r\n]*)
      | (?P<heading>\[[^\]\r\n]*\])
      | "(?P<text>(?:[^"\\\r\n]|\\.)*)"
      | (?P<mark>[=,;])
      | (?P<word>[^\s=,;"$\[\]]+)
      | (?P<odd>.)""",
    re.VERBOSE,
)
_ESCAPED = re.compile(r"\\(.)")
_MOST_FIELDS = 1_000_000
_SHOWN = 80


@dataclass(slots=True)
class CipEntry:
    """One entry `name = field, field, …;`, its fields as text without quotes."""

    name: str
    line: int
    fields: list[str] = field(default_factory=list)

    def get(self, place: int) -> str:
        """A field by its place from 0, empty where there is none."""
        return self.fields[place] if place < len(self.fields) else ""

    def skipped(self, reason: str) -> SkippedLine:
        """This entry as one that could not be understood."""
        return SkippedLine(self.line, f"{self.name} = {', '.join(self.fields)}"[:_SHOWN], reason)


@dataclass(slots=True)
class CipText:
    """Entries by section and by name, both in lower case, in the order of the file."""

    sections: dict[str, dict[str, CipEntry]] = field(default_factory=dict)
    problems: list[SkippedLine] = field(default_factory=list)

    def section(self, name: str) -> dict[str, CipEntry]:
        """The entries of a section, none where there is no such one."""
        return self.sections.get(name.lower(), {})

    def text(self, section: str, name: str) -> str:
        """The first field of an entry, empty where there is none."""
        entry = self.section(section).get(name.lower())
        return entry.get(0) if entry is not None else ""


def read_cip_text(text: str, file: str) -> CipText:
    """Read the entries; what is none goes to `problems`. Raises Unreadable for too many fields."""
    found = _Reader(file)
    line = 1
    for token in _TOKEN.finditer(text):
        found.take(token, line)
        line += token[0].count("\n")
    found.end(line, f"it is not ended by ';': {CUT_OFF}")
    return found.text


class _Reader:
    def __init__(self, file: str) -> None:
        self.text = CipText()
        self._file = file
        self._section: dict[str, CipEntry] | None = None
        self._entry: CipEntry | None = None
        self._pending = ""  # the field that is being read
        self._begin = 0
        self._count = 0

    def take(self, token: re.Match[str], line: int) -> None:
        kind = token.lastgroup
        if kind == "blank":
            return
        if kind == "heading":
            self.end(line, "it is not ended by ';'")
            name = token[0][1:-1].strip().lower()
            self._section = self.text.sections.setdefault(name, {})
        elif kind == "mark":
            self._mark(token[0], line)
        elif kind == "odd":
            reason = "this character belongs to no field"
            self.text.problems.append(SkippedLine(line, token[0], reason))
        else:
            if not self._pending:
                self._begin = line
            text = token["text"]
            word = token[0] if text is None else _ESCAPED.sub(_plain, text)
            is_apart = text is None and bool(self._pending)
            self._pending += f" {word}" if is_apart else word

    def _mark(self, mark: str, line: int) -> None:
        if mark == "=":
            if self._entry is not None:  # the last word before the mark is the next one's name
                self._drop("it is not ended by ';'")
                self._pending, self._begin = self._pending.rpartition(" ")[2], line
            self._entry, self._pending = CipEntry(self._pending, self._begin or line), ""
            return
        if self._entry is None:
            if self._pending or mark == ",":
                said = SkippedLine(line, self._pending[:_SHOWN], "it belongs to no entry")
                self.text.problems.append(said)
            self._pending = ""
            return
        self._count += 1
        if self._count > _MOST_FIELDS:
            reason = f"it has more than {_MOST_FIELDS} fields"
            raise Unreadable(reason, file=self._file, line=line)
        self._entry.fields.append(self._pending)
        self._pending = ""
        if mark == ";":
            self._store(self._entry)
            self._entry = None

    def _store(self, entry: CipEntry) -> None:
        if self._section is None:
            self.text.problems.append(entry.skipped("it stands before the first section"))
        elif (first := self._section.setdefault(entry.name.lower(), entry)) is not entry:
            said = f"{entry.name} is given already in line {first.line}"
            self.text.problems.append(entry.skipped(said))

    def _drop(self, reason: str) -> None:
        assert self._entry is not None
        self.text.problems.append(self._entry.skipped(reason))
        self._entry = None

    def end(self, line: int, reason: str) -> None:
        """Nothing may be open here."""
        if self._entry is not None:
            self._drop(reason)
        elif self._pending:
            self.text.problems.append(SkippedLine(line, self._pending[:_SHOWN], reason))
        self._pending = ""


def _plain(found: re.Match[str]) -> str:
    return {"n": " ", "t": " ", "r": ""}.get(found[1], found[1])
