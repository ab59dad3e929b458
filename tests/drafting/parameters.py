"""Invented parameters with values, from the invented names that the glossaries are tried on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from random import Random

from tests.conftest import ROOT
from tests.drafting.truth import Content, TrueParameter
from vault.model import roles

_NAMES = ROOT / "tests" / "jobs" / "families"
_FILES = ("names_to_tune_on.txt", "names_held_out.txt")
_CODES = (
    "P{a}.{b:02}",
    "{a}{b:03}",
    "P{a}{b:03}",
    "C-{a}{b:02}",
    "Par{a}.{b}",
    "0x{hex:04X}:{b:02X}",
)
_WORDS = {"en": ("No", "Yes", "Off", "On"), "de": ("Nein", "Ja", "Aus", "Ein")}
_TEXTS = (
    "V2.10",
    "ABC-123",
    "0012",
    "left; right",
    "3/4 line",
    "2.1.7",
    "A,B",
    "n.c.",
    "2.10",
    "10.20.30.40",
)
_TEXT_KINDS = ("text", "identity", "version")
_FILLERS = {
    "en": (("User memory {n}", ""), ("Counter level {n}", ""), ("Table point {n}", "mm"),
           ("Spare value {n}", "V")),
    "de": (("Anwenderspeicher {n}", ""), ("Zählerstufe {n}", ""), ("Stützpunkt {n}", "mm"),
           ("Ersatzwert {n}", "V")),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class InventedName:
    """A name with its unit, the section it stands in, and the role it means, if any."""

    name: str
    unit: str
    section: str
    role: str | None


@cache
def names(language: str) -> tuple[InventedName, ...]:
    """All the names of a language."""
    return tuple(one for spoken, one in _names() if spoken == language)


def _names() -> Iterator[tuple[str, InventedName]]:
    for file in _FILES:
        language = "en"
        for line in (_NAMES / file).read_text("utf-8").splitlines():
            if line.startswith("# --"):
                language = "de" if "German" in line else "en"
            elif line[:1] != "#":
                name, unit, section, role = (cell.strip() for cell in line.split("|"))
                yield language, InventedName(name, unit, section, role or None)


def invent(
    random: Random, language: str, size: int, axes: int, *, repeats: bool, marked: bool
) -> tuple[TrueParameter, ...]:
    """Parameters of one drive, each role once.

    With `repeats` the same codes stand in several sections; `marked` numbers may have a mark of
    their base.
    """
    chosen = _chosen(random, language, size)
    pattern = random.choice(_CODES)
    sections = [f"{'Gruppe' if language == 'de' else 'Group'} {letter}" for letter in "ABCD"]
    sections = sections[: max(2, min(4, size // 4))]
    share = -(-size // len(sections))
    made = []
    for n, one in enumerate(chosen):
        at = n % share if repeats else n
        code = pattern.format(a=at // 90 + 1, b=at % 90, hex=0x2000 + at // 90)
        made.append(_made(random, one, code, sections[n // share], language, axes, marked))
    return tuple(made)


def _chosen(random: Random, language: str, size: int) -> list[InventedName]:
    known = list(names(language))
    random.shuffle(known)
    chosen, taken, spelled = [], set[str](), set[str]()
    for one in known:
        if len(chosen) == size:
            break
        if one.role not in taken and one.name not in spelled:
            chosen.append(one)
            spelled.add(one.name)
            taken |= {one.role} if one.role else set()
    for n in range(size - len(chosen)):
        name, unit = random.choice(_FILLERS[language])
        chosen.append(InventedName(name.format(n=n + 1), unit, "", None))
    return chosen


def _made(
    random: Random, one: InventedName, code: str, section: str, language: str, axes: int,
    marked: bool,
) -> TrueParameter:  # fmt: skip
    role = roles.find(one.role) if one.role else None
    values, base, low, high, default = _values(random, one, language, axes, marked)
    read_only = role is not None and role.access == "ro"
    return TrueParameter(
        code, one.name, values, one.unit, section, low, high, default,
        "ro" if read_only else "rw", one.role, base,
    )  # fmt: skip


def _values(
    random: Random, one: InventedName, language: str, axes: int, marked: bool
) -> tuple[tuple[Content, ...], str, Decimal | None, Decimal | None, Decimal | None]:
    role = roles.find(one.role) if one.role else None
    kind = role.kind if role else ""
    if kind in _TEXT_KINDS:
        return tuple(random.choice(_TEXTS) for _ in range(axes)), "", None, None, None
    if kind == "flag" and random.random() < 0.6:
        pair = random.choice((_WORDS[language][:2], _WORDS[language][2:]))
        return tuple(random.choice(pair) for _ in range(axes)), "", None, None, None
    if random.random() < 0.01:
        return (None,) * axes, "", None, None, None
    if kind in ("choice", "bits", "flag") or not one.unit:
        top = 1 if kind == "flag" else random.choice((3, 15, 255, 65535))
        numbers = [Decimal(random.randint(0, top)) for _ in range(axes)]
        base = random.choice(("hex", "binary", "")) if marked and not one.unit else ""
        return tuple(numbers), base, Decimal(0), Decimal(top), Decimal(0)
    places = random.choice((0, 0, 1, 2, 3))
    most = random.choice((9, 200, 4000, 90000))
    low = Decimal(-most if random.random() < 0.3 else 0)
    numbers = [
        Decimal(random.randint(int(low) * 10**places, most * 10**places)).scaleb(-places)
        for _ in range(axes)
    ]
    return tuple(numbers), "", low, Decimal(most), Decimal(random.randint(int(low), most))
