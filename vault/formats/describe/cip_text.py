"""The text of an EDS of CIP networks: sections of entries, each a row of fields up to `;`.

The grammar is from memory: a comment from `$` to the end of its line, texts in double quotes, of
which neighbours are one, blanks and line ends without meaning.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from vault.formats.text_encoding import CUT_SHORT
from vault.model.errors import Unreadable
from vault.model.export import SkippedLine

_TOKEN = re.compile(
    r"""(?P<blank>\s+|\$[^\r\n]*)
      | (?P<heading>\[[^\]\r\n]*\])
      | "(?P<text>(?:[^"\\\r\n]|\\.){0,4000}+)"
      | (?P<mark>[=,;])
      | (?P<word>[^\s=,;"$\[\]]+)
      | (?P<odd>.)""",
    re.VERBOSE,
)
_HEADING = re.compile(r"^[ \t]*\[[ \t]*([^\]\r\n]{1,80}?)[ \t]*\]", re.MULTILINE)
_OF_CIP = {"params", "device classification", "paramclass", "connection manager"}
# A settings file may have such sections too; only here the device has a vendor's number, ended so.
_VENDOR = re.compile(r"^[ \t]*VendCode[ \t]*=[^\r\n;]{0,80};", re.IGNORECASE | re.MULTILINE)
_ESCAPED = re.compile(r"\\(.)")
# What is kept of a file is counted, so that no text fills the memory before it is refused.
_MOST_FIELDS = 1_000_000
_MOST_PROBLEMS = 100_000
_MOST_SECTIONS = 10_000
_SHOWN = 80


def is_cip_eds(text: str) -> bool:
    """Whether a text, or the head of one, is an EDS of CIP networks."""
    names = {name.lower() for name in _HEADING.findall(text)}
    return "device" in names and bool(names & _OF_CIP) and _VENDOR.search(text) is not None


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
        shown = ", ".join(self.fields[:_SHOWN])
        return SkippedLine(self.line, f"{self.name} = {shown}"[:_SHOWN], reason)


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
    """Read the entries; what is none goes to `problems`.

    Raises Unreadable for too many fields, sections or problems.
    """
    found = _Reader(file)
    line = 1
    for token in _TOKEN.finditer(text):
        found.take(token, line)
        line += token[0].count("\n")
    found.end(line, f"it is not ended by ';': {CUT_SHORT}")
    return found.text


class _Reader:
    def __init__(self, file: str) -> None:
        self.text = CipText()
        self._file = file
        self._section: dict[str, CipEntry] | None = None
        self._entry: CipEntry | None = None
        self._pending: list[str] = []  # words and texts of the field that is being read
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
            self._most(len(self.text.sections), _MOST_SECTIONS, "sections", line)
        elif kind == "mark":
            self._mark(token[0], line)
        elif kind == "odd":
            self._tell(SkippedLine(line, token[0], "this character belongs to no field"))
        else:
            if not self._pending:
                self._begin = line
            text = token["text"]
            if text is None and self._pending:
                self._pending.append(" ")
            self._pending.append(token[0] if text is None else _ESCAPED.sub(_plain, text))

    def _most(self, count: int, most: int, what: str, line: int) -> None:
        if count > most:
            raise Unreadable(f"it has more than {most} {what}", file=self._file, line=line)

    def _tell(self, problem: SkippedLine) -> None:
        self.text.problems.append(problem)
        self._most(len(self.text.problems), _MOST_PROBLEMS, "problems", problem.line)

    def _field(self) -> str:
        """The field that was read, which another one follows."""
        text = "".join(self._pending)
        self._pending = []
        return text

    def _mark(self, mark: str, line: int) -> None:
        text = self._field()
        if mark == "=":
            if self._entry is not None:  # the last word before the mark is the next one's name
                self._drop("it is not ended by ';'")
                text, self._begin = text.rpartition(" ")[2], line
            self._entry = CipEntry(text, self._begin or line)
            return
        if self._entry is None:
            if text or mark == ",":
                self._tell(SkippedLine(line, text[:_SHOWN], "it belongs to no entry"))
            return
        self._count += 1
        self._most(self._count, _MOST_FIELDS, "fields", line)
        self._entry.fields.append(text)
        if mark == ";":
            self._store(self._entry)
            self._entry = None

    def _store(self, entry: CipEntry) -> None:
        if self._section is None:
            self._tell(entry.skipped("it stands before the first section"))
        elif (first := self._section.setdefault(entry.name.lower(), entry)) is not entry:
            said = f"{entry.name} is given already in line {first.line}"
            self._tell(entry.skipped(said))

    def _drop(self, reason: str) -> None:
        assert self._entry is not None
        self._tell(self._entry.skipped(reason))
        self._entry = None

    def end(self, line: int, reason: str) -> None:
        """Nothing may be open here."""
        text = self._field()
        if self._entry is not None:
            self._drop(reason)
        elif text:
            self._tell(SkippedLine(line, text[:_SHOWN], reason))


def _plain(found: re.Match[str]) -> str:
    return {"n": " ", "t": " ", "r": ""}.get(found[1], found[1])
