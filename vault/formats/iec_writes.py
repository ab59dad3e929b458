"""What a project writes, and where: whether anything but what is looked at reaches a variable.

A path is followed by the names in it: `Main.Speed` is that of the program Main, `THIS^.Speed` the
block's own, `Line.Speed` one of a list or an instance. Where a call may write what it is given it
counts as written: a constant that is none is believed at the machine.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from vault.formats.iec_blocks import block_named
from vault.formats.iec_project import Pou, Project
from vault.formats.iec_st import Lent

_SELF = ("this", "super")
_STANDARD = """
    abs sqrt ln log exp sin cos tan asin acos atan atan2 add sub mul div mod expt move sel max
    min limit mux gt ge eq le lt ne trunc round floor ceil shl shr rol ror and or xor not sizeof
    len left right mid concat insert delete replace find
    ton tof tp rtc ctu ctd ctud r_trig f_trig sr rs if elsif while until case return
"""
"""Functions and blocks of the standard (IEC 61131-3, from memory): none writes what it is given."""
_READ_ONLY = frozenset(_STANDARD.split())
_CONVERTS = re.compile(r"(\w+_)?to_\w+|\w+_to_\w+")
_STEP = re.compile(r"[^.\[]+(?:\[[^\]]*\])?")


@dataclass(frozen=True, slots=True)
class Write:
    """A path that a program writes; `expression` is empty where an output or a call does."""

    pou: Pou
    steps: tuple[str, ...]
    expression: str
    line: int


def steps_of(path: str) -> tuple[str, ...]:
    """Names of a path in small letters with their indexes, without what means the block itself."""
    found = tuple(_STEP.findall(path.casefold().replace("^", "")))
    while len(found) > 1 and found[0] in _SELF:
        found = found[1:]
    return found


class Writes:
    """All that a project writes, by the names that it writes to."""

    def __init__(self, project: Project) -> None:
        self._project = project
        self._by_name: dict[str, list[Write]] = defaultdict(list)
        for pou in project.pous.values():
            for write in self._of(pou):
                for name in {step.partition("[")[0] for step in write.steps}:
                    self._by_name[name].append(write)

    def _of(self, pou: Pou) -> Iterator[Write]:
        for one in pou.given:
            yield Write(pou, steps_of(one.target), one.expression, one.line)
        for path in pou.written:
            yield Write(pou, steps_of(path), "", pou.line)
        for lent in pou.lent:
            if self._may_write(pou, lent):
                yield Write(pou, steps_of(lent.path), "", pou.line)

    def _may_write(self, pou: Pou, lent: Lent) -> bool:
        """Whether what is called has an input that it may write, and this may be it."""
        called = lent.called.casefold()
        first, last = called.partition(".")[0], called.rpartition(".")[2]
        own = pou.variables.get(first) or self._project.globals.get(first)
        kind = own.type_name.casefold() if own is not None else pou.blocks.get(lent.called, last)
        kind = kind.casefold()
        if block_named(kind) or kind.rpartition(".")[2] in _READ_ONLY or _CONVERTS.fullmatch(kind):
            return False
        block = self._project.pous.get(kind)
        if block is None:
            return True
        known = block.variables.get(lent.name.casefold())
        if known is not None:
            return known.section == "inout"
        return any(one.section == "inout" for one in block.variables.values())

    def reaching(self, path: str, pou: Pou, holder: str) -> Iterator[Write]:
        """Writes to a variable, or to an input of an instance, of a program or block `holder`."""
        wanted = steps_of(path)
        if not wanted:
            return
        name = wanted[0].partition("[")[0]
        own = pou.variables.get(name)
        is_own = own is not None and own.section != "external"
        holders = {pou.name.casefold(), holder.casefold().rpartition(".")[2].partition("[")[0]}
        for write in self._by_name.get(name, ()):
            for at in range(len(write.steps)):
                if not _meets(write.steps[at:], wanted):
                    continue
                if at == 0:
                    theirs = write.pou.variables.get(name)
                    of_list = theirs is None or theirs.section == "external"
                    reaches = write.pou is pou or (not is_own and of_list)
                else:
                    before = write.steps[at - 1].partition("[")[0]
                    reaches = before in holders if is_own else True
                if reaches:
                    yield write
                    break


def _meets(steps: tuple[str, ...], wanted: tuple[str, ...]) -> bool:
    """Whether a written path begins with what is wanted, as far as indexes may be the same."""
    if len(steps) < len(wanted):
        return len(steps) == 1 and len(wanted) == 2 and steps[0] == wanted[0]
    return all(_may_be(one, other) for one, other in zip(steps, wanted, strict=False))


def _may_be(one: str, other: str) -> bool:
    if one == "*":
        return True
    (name, _, index), (its, _, its_index) = one.partition("["), other.partition("[")
    index, its_index = index.rstrip("]"), its_index.rstrip("]")
    return name == its and (index == its_index or not (index.isdigit() and its_index.isdigit()))
