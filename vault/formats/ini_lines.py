"""INI text with line numbers, as EDS and DCF files use it (CiA 306).

Sections and keys are found in any case and spacing. Nothing is dropped in silence: a line that is
neither section, key nor comment, and whatever stands twice, is reported with its line.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field
from typing import NamedTuple

from vault.formats.text_encoding import CUT_SHORT
from vault.model.errors import Unreadable
from vault.model.export import SkippedLine

ENCODINGS = ("utf-8", "windows-1252", "latin-1", "utf-16")
"""What an EDS or DCF file is tried in, in this order."""

_HEADING = re.compile(r"\[([^\[\]]*)\]\s*(?:[;#].*)?")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_SHOWN = 80
_SHORT = 10
# What is kept of a file is counted, so that no text fills the memory before it is refused.
_MOST_PROBLEMS = 100_000
_MOST_SECTIONS = 250_000
_MOST_NAMES = 300_000
_MOST_KEPT = 1_000_000


class Key(NamedTuple):
    """One `name=text` line; blanks around both are dropped."""

    name: str
    text: str
    line: int

    def skipped(self, reason: str) -> SkippedLine:
        """This line as one that could not be understood."""
        return SkippedLine(self.line, f"{self.name}={self.text}"[:_SHOWN], reason)


@dataclass(slots=True)
class Section:
    """One section; `keys` by name in lower case."""

    name: str
    line: int
    keys: dict[str, Key] = field(default_factory=dict)

    def get(self, name: str) -> Key | None:
        """Key of that name if it has a text, else None."""
        key = self.keys.get(name.lower())
        return key if key is not None and key.text else None

    def text(self, name: str) -> str:
        """Text of a key, empty where there is none."""
        key = self.keys.get(name.lower())
        return "" if key is None else key.text

    def skipped(self, reason: str) -> SkippedLine:
        """The heading of this section as a line that could not be understood."""
        return SkippedLine(self.line, f"[{self.name}]"[:_SHOWN], reason)


@dataclass(slots=True)
class IniText:
    """Sections in the order of the file, by `plain_name`, and the lines in doubt.

    `last_number` and `last_text` are its last line; `is_ended` whether that has an end.
    """

    sections: dict[str, Section] = field(default_factory=dict)
    problems: list[SkippedLine] = field(default_factory=list)
    last_number: int = 0
    last_text: str = ""
    is_ended: bool = True

    def section(self, *names: str) -> Section:
        """First section that has one of the names; an empty one where there is none."""
        found = (self.sections.get(plain_name(name)) for name in names)
        return next((s for s in found if s is not None), Section(names[0], 0))


def plain_name(name: str) -> str:
    """Name of a section in lower case without blanks."""
    return "".join(name.lower().split())


def read_ini(text: str, file: str | None = None) -> IniText:
    """Read INI text. Of what stands twice the first is kept; the second goes to `problems`.

    What follows a heading that cannot be read is kept out of the section before it. Raises
    Unreadable, naming the `file`, for more than is kept of any.
    """
    ini = IniText()
    problems = ini.problems
    current: Section | None = None
    clean = _CONTROL.search(text) is None
    broken: SkippedLine | None = None
    number, raw = 0, ""
    kept = 0
    same: dict[str, str] = {}  # names and short texts recur thousands of times
    for number, raw in enumerate(io.StringIO(text, newline=""), 1):
        line = raw.strip()
        if not line or line[0] == ";" or line[0] == "#":
            continue
        kept += 1
        if (
            kept > _MOST_KEPT
            or len(problems) > _MOST_PROBLEMS
            or len(ini.sections) > _MOST_SECTIONS
            or len(same) > _MOST_NAMES
        ):
            what = "lines that cannot be read" if len(problems) > _MOST_PROBLEMS else "lines"
            reason = f"too many {what}: this is no export of a drive"
            raise Unreadable(reason, file=file, line=number)
        if line[0] == "[":
            heading = _HEADING.fullmatch(line)
            current = Section(heading[1].strip() if heading else "", number)
            broken = _broken(number, line, clean, heading is not None)
            if broken is None:
                _begin(ini, current)
        else:
            name, equals, value = line.partition("=")
            name = name.rstrip()
            broken = _broken(number, line, clean, bool(equals and name))
            if broken is None and current is None:
                reason = "the key stands before the first section"
                problems.append(SkippedLine(number, line[:_SHOWN], reason))
            elif broken is None and current is not None:
                name = same.setdefault(name, name)
                value = value.lstrip()
                if len(value) <= _SHORT:
                    value = same.setdefault(value, value)
                key = Key(name, value, number)
                lower = name.lower()
                if current.keys.setdefault(same.setdefault(lower, lower), key) is not key:
                    problems.append(_again(current, key))
                if not key.text and raw[-1] not in "\r\n":  # so it is the last line
                    problems.append(key.skipped(f"the last line ends after '=': {CUT_SHORT}"))
        if broken is not None:
            problems.append(broken)
    ini.last_number, ini.last_text = number, raw.strip()[:_SHOWN]
    ini.is_ended = raw.endswith(("\r", "\n"))
    if broken is not None:  # nothing but comments after it
        problems[-1] = SkippedLine(broken.line, broken.text, f"{broken.reason}: {CUT_SHORT}")
    elif raw.endswith("\r") and "\r\n" in text:
        problems.append(SkippedLine(number, raw.strip()[:_SHOWN], f"half a line end: {CUT_SHORT}"))
    return ini


def _broken(number: int, line: str, clean: bool, understood: bool) -> SkippedLine | None:
    if not clean and _CONTROL.search(line):
        return SkippedLine(number, line[:_SHOWN], "the line holds control characters")
    if understood:
        return None
    reason = "this is neither a section, a key with '=', nor a comment"
    return SkippedLine(number, line[:_SHOWN], reason)


def _begin(ini: IniText, section: Section) -> None:
    first = ini.sections.setdefault(plain_name(section.name), section)
    if first is not section:
        reason = f"section [{section.name}] stands twice: line {first.line} and {section.line}"
        ini.problems.append(section.skipped(f"{reason}; the first one is kept"))


def _again(section: Section, key: Key) -> SkippedLine:
    first = section.keys[key.name.lower()]
    reason = f"{key.name} stands twice in [{section.name}]: line {first.line} and {key.line}"
    return key.skipped(f"{reason}; the first one is kept")
