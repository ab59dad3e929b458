"""INI text with line numbers, as EDS and DCF files use it (CiA 306).

Sections and keys are found in any case and spacing. Nothing is dropped in silence: a line that is
neither section, key nor comment, and whatever stands twice, is reported with its line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from vault.formats.text_encoding import split_lines
from vault.model.export import SkippedLine

CUT_OFF = "the file seems cut off"

_HEADING = re.compile(r"\[([^\[\]]*)\]\s*(?:[;#].*)?")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
_SHOWN = 80


@dataclass(frozen=True, slots=True)
class Key:
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
        key = self.get(name)
        return key.text if key is not None else ""

    def skipped(self, reason: str) -> SkippedLine:
        """The heading of this section as a line that could not be understood."""
        return SkippedLine(self.line, f"[{self.name}]"[:_SHOWN], reason)


@dataclass(slots=True)
class IniText:
    """Sections in the order of the file, by `plain_name`, and the lines in doubt."""

    sections: dict[str, Section] = field(default_factory=dict)
    problems: list[SkippedLine] = field(default_factory=list)

    def section(self, *names: str) -> Section:
        """First section that has one of the names; an empty one where there is none."""
        found = (self.sections.get(plain_name(name)) for name in names)
        return next((s for s in found if s is not None), Section(names[0], 0))


def plain_name(name: str) -> str:
    """Name of a section in lower case without blanks."""
    return "".join(name.lower().split())


def read_ini(text: str) -> IniText:
    """Read INI text. Of what stands twice the first is kept; the second goes to `problems`."""
    ini = IniText()
    current: Section | None = None
    last_junk: SkippedLine | None = None
    for number, raw in enumerate(split_lines(text), 1):
        line = raw.strip()
        if not line or line[0] in ";#":
            continue
        last_junk = None
        heading = _HEADING.fullmatch(line)
        name, equals, value = (part.strip() for part in line.partition("="))
        if _CONTROL.search(line):
            last_junk = SkippedLine(number, line[:_SHOWN], "the line holds control characters")
        elif heading is not None:
            current = _begin(ini, Section(heading[1].strip(), number))
        elif not equals or not name:
            reason = "this is neither a section, a key with '=', nor a comment"
            last_junk = SkippedLine(number, line[:_SHOWN], reason)
        elif current is None:
            reason = "the key stands before the first section"
            ini.problems.append(SkippedLine(number, line[:_SHOWN], reason))
        else:
            _add(ini, current, Key(name, value, number))
        if last_junk is not None:
            ini.problems.append(last_junk)
    if last_junk is not None:  # nothing but comments after it
        ini.problems[-1] = SkippedLine(
            last_junk.line, last_junk.text, f"{last_junk.reason}: {CUT_OFF}"
        )
    return ini


def _begin(ini: IniText, section: Section) -> Section:
    first = ini.sections.setdefault(plain_name(section.name), section)
    if first is not section:
        reason = f"section [{section.name}] stands twice: line {first.line} and {section.line}"
        ini.problems.append(section.skipped(f"{reason}; the first one is kept"))
    return section


def _add(ini: IniText, section: Section, key: Key) -> None:
    first = section.keys.setdefault(key.name.lower(), key)
    if first is not key:
        reason = f"{key.name} stands twice in [{section.name}]: line {first.line} and {key.line}"
        ini.problems.append(key.skipped(f"{reason}; the first one is kept"))
