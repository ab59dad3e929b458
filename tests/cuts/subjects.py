"""What is cut: exports of the example plant, and files of a library that knows nothing of ours."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from example_machines import EXPORTS, FAMILIES
from tests import library_files
from vault.model.names import Address
from vault.store.vault import FamilyFile

_FAMILY_OF = {".csv": "rowan", ".txt": "larch"}
NODE_ID = 7


@dataclass(frozen=True)
class Subject:
    """A whole file: its `kind` for the table, and how it is read; channel where it has several."""

    kind: str
    name: str
    content: bytes
    address: Address
    family: FamilyFile | None = None
    channel: int | None = None

    @property
    def is_table(self) -> bool:
        """Whether it has rows, and not sections."""
        return self.family is not None and self.family.family.export.format == "delimited"


def of_the_plant() -> Iterator[Subject]:
    """Every export of the example plant; both axes of a file that has two."""
    families = {p.stem: FamilyFile(p.stem, p.read_bytes()) for p in sorted(FAMILIES.glob("*.yaml"))}
    for path in sorted(p for p in EXPORTS.rglob("*") if p.suffix in (".dcf", *_FAMILY_OF)):
        family = _FAMILY_OF.get(path.suffix, "alder")
        machine, axis = path.parts[-3:-1]
        channels = (1, 2) if "-and-" in axis else (None,)
        for channel in channels:
            yield Subject(
                f"example {path.suffix[1:]}",
                f"{machine}/{axis}/{path.name}" + (f", axis {channel}" if channel else ""),
                path.read_bytes(),
                Address(machine, axis),
                families[family],
                channel,
            )


def lists_between(plant: list[Subject]) -> Iterator[Subject]:
    """One DCF of each axis with each list of objects just before its own."""
    seen: set[Address] = set()
    for one in plant:
        if not one.is_table and one.address not in seen:
            seen.add(one.address)
            content = _lists_between(one.content)
            yield Subject("dcf, lists between", one.name, content, one.address, one.family)


def _lists_between(content: bytes) -> bytes:
    sections = re.split(rb"(?m)^(?=\[)", content)
    lists = {s.split(b"]")[0][1:]: s for s in sections if re.match(rb"\[\w+Objects\]", s)}
    others = [s for s in sections if s not in lists.values()]
    head = [s for s in others if not re.match(rb"\[[0-9A-F]{4}", s)]
    parts = [*head]
    for name in (b"MandatoryObjects", b"OptionalObjects", b"ManufacturerObjects"):
        named = set(re.findall(rb"=0x([0-9A-F]{4})", lists[name]))
        parts += [lists[name], *(s for s in others if s not in head and s[1:5] in named)]
    return b"".join(parts)


def of_the_library() -> Iterator[Subject]:
    """What canopen writes of invented objects, and what is written again of the plant's."""
    for seed in range(2):
        content = library_files.written(seed).encode()
        yield Subject("library dcf", f"invented {seed}", content, Address("library", "dcf"))
        content = library_files.written(seed, description=True).encode()
        yield Subject("library eds", f"invented {seed}", content, Address("library", "eds"))


def shipped_with_the_library() -> Iterator[Subject]:
    """Files that canopen ships, and what it makes of each. Raises NotFetched."""
    with TemporaryDirectory() as folder:
        texts = library_files.shipped(Path(folder))
    for name, text in sorted(texts.items()):
        ending = name.rpartition(".")[2]
        at = Address("shipped", ending)
        yield Subject(f"shipped {ending}", name, text.encode(), at)
        again = library_files.written_again(text).encode()
        yield Subject("shipped, as dcf", name, again, at)
        again = library_files.written_again(text, description=True).encode()
        yield Subject("shipped, as eds", name, again, at)
