"""A test double of a drive: takes a load file by the rules of its family, and exports itself.

The drive knows only what the tool of its (invented) family knows, `example_machines`; it reads load
files with the standard library and nothing of our own formats. The tool's rules: a value for an
unknown code, out of range or of the wrong kind is refused and the old one stays; what the drive
sets itself is passed over; some settings take effect at the next start only.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from configparser import RawConfigParser
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from functools import cache

from ruamel.yaml import YAML

from example_machines import (
    FAMILIES,
    alder_export,
    larch_catalogue,
    larch_export,
    rowan_catalogue,
    rowan_export,
)
from example_machines.visits import AxisStory, Setting, Settings, State, Visit
from example_machines.write_exports import AXES

BY = "Mira Okafor <mira@tileworks.example>"
_WIDTHS = {"BOOL": (0, 1), "U8": (0, 2**8 - 1), "U16": (0, 2**16 - 1), "U32": (0, 2**32 - 1),
           "I8": (-(2**7), 2**7 - 1), "I16": (-(2**15), 2**15 - 1),
           "I32": (-(2**31), 2**31 - 1)}  # fmt: skip
_PLATE = ("2020:", "1018:04", "1009:00", "100A:00", "6503:00", "2010:02", "2010:03", "2500:01",
          "2500:02", "dev/rated-current", "dev/max-current")  # fmt: skip
_SAFETY = ("2480:", "safe/", "saf-")


@dataclass(frozen=True, slots=True)
class Rule:
    """What a tool knows of a parameter. `places` of a decimal number (rowan)."""

    code: str
    is_written: bool
    low: str
    high: str
    default: Setting
    kind: str = ""
    places: int = 0
    is_shared: bool = False

    def refuses(self, content: Setting) -> str | None:
        """Why the drive does not take a content; None where it does."""
        if self.kind == "TEXT":
            return None
        try:
            number = Decimal(content)
        except InvalidOperation:
            return (
                None if isinstance(self.default, str) and not _is_number(self.default) else "text"
            )
        if number != round(number, self.places):
            return "more decimals than it holds"
        low, high = _WIDTHS.get(self.kind, (None, None))
        lows = [Decimal(text) for text in (self.low, low) if text not in ("", None)]
        highs = [Decimal(text) for text in (self.high, high) if text not in ("", None)]
        if any(number < least for least in lows) or any(number > most for most in highs):
            return "out of range"
        return None


def _is_number(text: Setting) -> bool:
    try:
        Decimal(text)
    except InvalidOperation:
        return False
    return True


def rules_of(family: str, firmware: str) -> dict[str, Rule]:
    """What the tool of a family knows, for a firmware."""
    major, minor = (int(part) for part in firmware.split(".")[:2])
    if family == "alder":
        return {
            o.code: Rule(o.code, o.access == "rw", o.low, o.high, o.default, o.type)
            for o in alder_export.objects(firmware)
        }
    found = {}
    if family == "rowan":
        text = rowan_catalogue.ROWS + (rowan_catalogue.FROM_2_4 if (major, minor) >= (2, 4) else "")
        for row in text.splitlines():
            code, places, _, low, high, default, _ = row.split(";")
            fixed = code.startswith(("now/", "id/vendor", "id/set-rev", "safe/check", "dev/rated",
                                     "dev/max"))  # fmt: skip
            found[code] = Rule(code, not fixed, low, high, default, "", int(places))
        return found
    text = larch_catalogue.ROWS + (larch_catalogue.FROM_5_0 if major >= 5 else "")
    for row in text.splitlines():
        code, shared, _, access, low, high, default, _ = row.split(";")
        plain: Setting = int(default) if _is_number(default) else default
        found[code] = Rule(code, access == "rw", low, high, plain, is_shared=shared == "all")
    return found


@cache
def _restart_codes(family: str) -> frozenset[str]:
    read = YAML(typ="safe").load(FAMILIES / f"{family}.yaml")
    found = (c for c, k in read["parameters"].items() if k.get("effective") == "after_restart")
    return frozenset(code.removeprefix("0x") for code in found)


def story_of(machine: str, axis: str) -> AxisStory:
    """The story of an axis of the tile works."""
    return next(one for one in AXES if (one.machine, one.axis) == (machine, axis))


class SimulatedDrive:
    """A drive as delivered, fitted to an axis; a two-axis larch drive has two sets."""

    def __init__(self, story: AxisStory, plate: dict[str, str], firmware: str) -> None:
        """`plate` are lines of the nameplate, or contents that no file can set (alder)."""
        self.family = story.family
        self.firmware = firmware
        self.story = story
        self.rules = rules_of(story.family, firmware)
        self.plate = dict(plate)
        self.fixed: Settings = {c: int(v) if v.isdecimal() and c[:4] != "2020" else v
                                for c, v in plate.items() if c in self.rules}  # fmt: skip
        self.sets = [self._delivered() for _ in range(story.channel or 1)]
        self.waiting: list[Settings] = [{} for _ in self.sets]

    def _delivered(self) -> Settings:
        return {rule.code: rule.default for rule in self.rules.values() if rule.is_written}

    @classmethod
    def like(cls, state: State, **changes: str) -> SimulatedDrive:
        """A new drive of the same kind as one at a visit; `changes` of its plate."""
        if state.story.family == "alder":
            plate = {c: str(v) for c, v in state.settings.items() if c.startswith(_PLATE)}
            plate["NodeID"] = state.fitted["NodeID"]
            firmware = str(plate["100A:00"])
        else:
            plate = dict(state.fitted)
            plate |= {c: str(v) for c, v in state.settings.items() if c.startswith(_PLATE)}
            firmware = plate["Firmware"]
        plate |= {key.replace("__", ":"): value for key, value in changes.items()}
        return cls(state.story, plate, plate.get("100A:00", plate.get("Firmware", firmware)))

    @property
    def settings(self) -> Settings:
        """What is set in the axis."""
        return self.sets[-1]

    def load(self, content: bytes) -> list[str]:
        """Take a load file; returns what was refused."""
        refused = []
        for channel, code, value in _READERS[self.family](content):
            where = 0 if channel is None else channel - 1
            rule = self.rules.get(code)
            if rule is None:
                refused.append(f"{code}: no such parameter")
            elif not rule.is_written or where >= len(self.sets):
                continue
            elif why := rule.refuses(value):
                refused.append(f"{code} = {value}: {why}")
            else:
                self._set(code, value, where)
        return refused

    def type_in(self, code: str, value: Setting) -> None:
        """Set one parameter by hand, as its tool takes it."""
        assert self.rules[code].refuses(value) is None, (code, value)
        self._set(code, value, 0 if self.rules[code].is_shared else len(self.sets) - 1)

    def _set(self, code: str, value: Setting, where: int) -> None:
        rule = self.rules[code]
        place = self.waiting if code in _restart_codes(self.family) else self.sets
        place[0 if rule.is_shared else where][code] = value

    def restart(self) -> None:
        """Switch off and on: what waited for that takes effect."""
        for settings, waiting in zip(self.sets, self.waiting, strict=True):
            settings |= waiting
            waiting.clear()

    def validate_safety(self, commissioned: Settings) -> None:
        """The machine's safety procedure, by whoever may do that: sets what only it may set."""
        found = {c: v for c, v in commissioned.items() if c.startswith(_SAFETY)}
        for settings in self.sets:
            settings |= found

    def reference(self, offset_code: str, value: Setting) -> None:
        """Reference the axis anew: the encoder has another offset than the old one."""
        self.settings[offset_code] = value

    def export(self, taken_at: str, by: str = BY) -> bytes:
        """What the maker's tool saves."""
        states = [self._state(settings, taken_at, by) for settings in self.sets]
        if self.family == "larch":
            return larch_export.text(states)
        return (alder_export if self.family == "alder" else rowan_export).text(states[0])

    def _state(self, settings: Settings, taken_at: str, by: str) -> State:
        visit = Visit(taken_at, "as-left", by, "")
        story = replace(self.story, visits=(visit,))
        own = {**settings, **self.fixed}
        if self.family == "alder":
            own = {code: value for code, value in own.items() if code in self.rules}
            own["2480:07"] = settings.get("2480:07", 0)
        return State(story, visit, 0, own, self.plate)


def _read_dcf(content: bytes) -> Iterator[tuple[int | None, str, Setting]]:
    """CiA 306: sections `6065` and `6092sub1`, the content is `ParameterValue`."""
    parser = RawConfigParser(strict=True)
    parser.read_string(content.decode("utf-8"))
    for section in parser.sections():
        index, _, sub = section.lower().partition("sub")
        if len(index) != 4 or not parser.has_option(section, "ParameterValue"):
            continue
        text = parser.get(section, "ParameterValue")
        is_text = int(parser.get(section, "DataType"), 0) == 0x09
        value: Setting = text if is_text else int(text, 0)
        yield None, f"{index.upper()}:{int(sub or '0', 16):02X}", value


def _read_rowan(content: bytes) -> Iterator[tuple[int | None, str, Setting]]:
    lines = content.decode("windows-1252").splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith("Code;"))
    for row in csv.DictReader(lines[start:], delimiter=";"):
        text = row["Value"]
        number = text.replace(".", "").replace(",", ".")
        yield None, row["Code"], number if _is_number(number) else text


def _read_larch(content: bytes) -> Iterator[tuple[int | None, str, Setting]]:
    lines = content.decode("utf-16").splitlines()
    start = next(n for n, line in enumerate(lines) if "Key\t" in line)
    for row in csv.DictReader(lines[start:], delimiter="\t", quoting=csv.QUOTE_NONE):
        text = row["Content"]
        number = text.replace(",", "")
        axis = row.get("Axis") or ""
        channel = int(axis) if axis else None
        yield channel, row["Key"], int(number) if _is_number(number) else text


_READERS: dict[str, Callable[[bytes], Iterator[tuple[int | None, str, Setting]]]] = {
    "alder": _read_dcf,
    "rowan": _read_rowan,
    "larch": _read_larch,
}
