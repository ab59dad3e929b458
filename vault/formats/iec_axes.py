"""The motion blocks of a project, each with the axis that it moves, and what of them is one axis's.

A function block that holds motion blocks is looked into at every place where it stands, so that
what it is given there counts. `of_axis` is what the record's rule picks.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace

from vault.formats.iec_blocks import (
    AXIS_INPUTS,
    block_named,
    is_jog,
    is_setting,
    meaning_of,
    role_of,
    role_of_parameter,
)
from vault.formats.iec_project import Pou, Project, Task
from vault.formats.iec_values import Argument, Resolved, Scope, Values
from vault.model import roles
from vault.model.axis_pick import AxisPick
from vault.model.errors import Unreadable
from vault.model.export import Access, Entry

_DEEPEST = 8
_MOST_BLOCKS = 20_000
_MOST_LOOKED_AT = 1_000_000
_MOST_MEMBERS = 16
_MOST_NUMBER = 999
_ACCESS: dict[str, Access] = {"constant": "const", "initial": "rw", "at run time": "ro"}
_SAID = {
    "constant": "",
    "initial": " (initial, written elsewhere)",
    "at run time": " (at run time)",
}


@dataclass(frozen=True, slots=True)
class Input:
    """An input of a block: how it is called there, and what it gets."""

    name: str
    found: Resolved
    line: int


@dataclass(frozen=True, slots=True)
class Block:
    """A motion block: `path` is where it stands, `axes` the names of the axis that it moves.

    `jogs` is whether it or a block around it is called as if it moved the axis by hand.
    """

    path: str
    instance: str
    kind: str
    program: str
    axes: tuple[str, ...]
    inputs: tuple[Input, ...]
    line: int
    jogs: bool

    @property
    def names(self) -> tuple[str, ...]:
        """All that a rule may mean it by."""
        parts = [name.rpartition(".")[2] for name in self.axes]
        return (self.instance, self.path, *self.axes, *parts)


@dataclass(frozen=True, slots=True)
class Begin:
    """A variable of a program, or a global one, with its initial value."""

    path: str
    name: str
    found: Resolved
    line: int


@dataclass(frozen=True, slots=True)
class Found:
    """What a project holds of motion, whichever axis it is of."""

    blocks: tuple[Block, ...]
    begins: tuple[Begin, ...]
    tasks: tuple[Task, ...]
    task_of: dict[str, str]

    @property
    def axes(self) -> tuple[str, ...]:
        """Every axis reference, as the first block spells it."""
        names = {block.axes[-1].casefold(): block.axes[-1] for block in self.blocks if block.axes}
        return tuple(names.values())


def motion_of(project: Project, file: str) -> Found:
    """Every motion block of a project. Raises Unreadable where there are more than any has."""
    values = Values(project)
    scopes = [*_programs(project)]
    blocks: list[Block] = []
    places = _Places(project, values, file)
    for scope, program in scopes:
        for block in places.blocks(scope, program, ()):
            blocks.append(block)
            if len(blocks) > _MOST_BLOCKS:
                reason = f"it holds more than {_MOST_BLOCKS} motion blocks; so many are not read"
                raise Unreadable(reason, file=file)
    task_of = {
        program: one.task
        for scope, program in scopes
        for one in project.instances
        if one.task is not None
        and one.program.casefold() == scope.pou.name.casefold()
        and program in (one.name, scope.pou.name)
    }
    begins = (*_begins(scopes, values), *_global_begins(project, values))
    return Found(tuple(blocks), begins, tuple(project.tasks), task_of)


def _programs(project: Project) -> Iterator[tuple[Scope, str]]:
    """Programs by the name that codes begin with: their own, or their instance's of several."""
    running: dict[str, list[str]] = defaultdict(list)
    for one in project.instances:
        running[one.program.casefold()].append(one.name)
    for key, pou in project.pous.items():
        if pou.kind != "program":
            continue
        names = running[key] if len(running[key]) > 1 else [pou.name]
        for name in dict.fromkeys(names):
            yield Scope(name, pou), name


def _type_in(name: str, pou: Pou, project: Project) -> str:
    """The type of an instance in a program: as declared there, globally, or as its picture says."""
    key = name.casefold().partition("[")[0]
    own = pou.variables.get(key)
    if own is not None and own.section != "external":
        return own.type_name
    last = key.rpartition(".")[2]
    if last in project.globals:
        return project.globals[last].type_name
    return pou.blocks.get(key, own.type_name if own is not None else "")


class _Places:
    """Looks into function blocks wherever they stand, as long as that comes to an end."""

    def __init__(self, project: Project, values: Values, file: str) -> None:
        self._project, self._values, self._file = project, values, file
        self._left = _MOST_LOOKED_AT

    def blocks(self, scope: Scope, program: str, within: tuple[str, ...]) -> Iterator[Block]:
        """Motion blocks of a scope and of what stands in it; `within` are types around it.

        Raises Unreadable where there is too much to look at, as in blocks that multiply.
        """
        pou, given = scope.pou, scope.given()
        self._spend(1 + len(given) + len(pou.variables) + len(pou.called))
        names = {one.path.rpartition(".")[0] for one in given} - {""}
        names |= {path for path, _ in pou.called}
        names |= {one.name for one in pou.variables.values() if one.section == "local"}
        by_key = {name.casefold(): name for name in sorted(names)}
        inside = _inside(given, by_key)
        for key, name in sorted(by_key.items()):
            type_name = _type_in(name, pou, self._project)
            kind = block_named(type_name)
            reaching = inside.get(key, [])
            if kind is not None:
                own = [one for one in reaching if "." not in one.path[len(key) + 1 :]]
                found = _block(scope, program, name, kind, own, self._values)
                instances = found.path.removeprefix(program).split(".")
                yield replace(found, jogs=is_jog(kind, [*instances, *within]))
                continue
            inner = self._project.pous.get(type_name.casefold())
            if inner is None or inner.kind != "function_block" or len(within) >= _DEEPEST:
                continue
            if type_name.casefold() not in within:  # what holds itself never ends
                arguments = [
                    Argument(one.path[len(key) + 1 :], one.expression, one.line, one.scope)
                    for one in reaching
                ]
                child = Scope(f"{scope.path}.{name}", inner, arguments)
                yield from self.blocks(child, program, (*within, type_name.casefold()))

    def _spend(self, amount: int) -> None:
        self._left -= amount
        if self._left < 0:
            reason = "its function blocks stand within each other so often that it is not read"
            hint = "export the program of this axis alone, with the blocks that it uses"
            raise Unreadable(reason, file=self._file, hint=hint)


def _inside(given: Iterable[Argument], names: Collection[str]) -> dict[str, list[Argument]]:
    """What reaches into each of some instances, by their names in small letters."""
    found: dict[str, list[Argument]] = {}
    for one in given:
        path = one.path.casefold()
        at = path.find(".")
        while at > 0 and path.count(".", 0, at) < _MOST_MEMBERS:
            if path[:at] in names:
                found.setdefault(path[:at], []).append(one)
            at = path.find(".", at + 1)
    return found


def _block(
    scope: Scope, program: str, name: str, kind: str, given: list[Argument], values: Values
) -> Block:
    axes: tuple[str, ...] = ()
    by_input: dict[str, list[Argument]] = {}
    for one in given:
        key = one.path.rpartition(".")[2]
        if key.casefold() in AXIS_INPUTS:
            axes += values.axis_names(one.expression, one.scope)
        elif is_setting(key):
            by_input.setdefault(key.casefold(), []).append(one)
    inputs = tuple(
        Input(args[0].path.rpartition(".")[2], values.one_of([*args, *elsewhere]), args[0].line)
        for key, args in by_input.items()
        for elsewhere in [values.given_elsewhere(f"{name}.{key}", scope, given)]
    )
    line = min((one.line for one in given), default=scope.pou.line)
    axes = tuple(dict.fromkeys(axes))
    return Block(f"{scope.path}.{name}", name, kind, program, axes, inputs, line, jogs=False)


def _begins(scopes: Iterable[tuple[Scope, str]], values: Values) -> Iterator[Begin]:
    for scope, _ in scopes:
        for one in scope.pou.variables.values():
            if one.initial is not None and one.section != "external":
                found = values.resolve(one.name, scope)
                yield Begin(f"{scope.path}.{one.name}", one.name, found, one.line)


def _global_begins(project: Project, values: Values) -> Iterator[Begin]:
    nothing = Scope("", Pou("", "program", 1))
    for key, one in project.globals.items():
        if one.initial is not None:
            found = values.resolve(one.name, nothing)
            yield Begin(f"{project.lists[key]}.{one.name}", one.name, found, one.line)


def of_axis(found: Found, pick: AxisPick | None) -> tuple[Entry, ...]:
    """What is one axis's: entries with roles, numbered in the order of the blocks in the file.

    Without a pick everything is: of a project with one axis. Nothing where no block fits.
    """
    blocks = [one for one in found.blocks if pick is None or pick.takes(one.names)]
    blocks.sort(key=lambda block: (block.line, block.path))
    begins = [one for one in found.begins if pick is not None and pick.takes((one.name, one.path))]
    if not blocks and not begins:
        return ()
    entries = [*_task_entries(found, blocks, pick)]
    numbers: Counter[str] = Counter()
    for block in blocks:
        entries += _block_entries(block, numbers)
    entries += [
        _entry(one.path, one.name, one.found, one.line, None)
        for one in begins
        if one.found.kind != "at run time"
    ]
    return tuple({entry.code: entry for entry in reversed(entries)}.values())[::-1]


def _task_entries(found: Found, blocks: Iterable[Block], pick: AxisPick | None) -> Iterator[Entry]:
    used = {found.task_of[block.program] for block in blocks if block.program in found.task_of}
    wanted = pick.task if pick is not None else None
    names = {wanted.casefold()} if wanted is not None else {name.casefold() for name in used}
    tasks = [task for task in found.tasks if task.name.casefold() in names]
    is_told = len(tasks) == 1
    for task in tasks:
        code = f"task/{task.name}"
        if task.interval is not None:
            role = "controller_task_interval" if is_told else None
            yield Entry(
                f"{code}/interval", task.interval, task.line, f"Task {task.name}: interval", "us",
                access="const", role=role, group=roles.CONTROLLER,
            )  # fmt: skip
        if task.priority.isdecimal() and len(task.priority) < 6:
            role = "controller_task_priority" if is_told else None
            yield Entry(
                f"{code}/priority", int(task.priority), task.line, f"Task {task.name}: priority",
                access="const", role=role, group=roles.CONTROLLER,
            )  # fmt: skip


def _block_entries(block: Block, numbers: Counter[str]) -> Iterator[Entry]:
    number = next((i.found for i in block.inputs if i.name.casefold() == "parameternumber"), None)
    for one in block.inputs:
        role = role_of(block.kind, one.name, jogs=block.jogs)
        if block.kind == "MC_WriteParameter" and one.name.casefold() == "value":
            is_told = number is not None and number.kind == "constant"
            role = role_of_parameter(number.value) if number is not None and is_told else None
        is_constant = one.found.kind == "constant"
        label = meaning_of(str(one.found.value), role) if role and is_constant else None
        found = one.found if label is None else replace(one.found, value=label)
        is_known = is_constant and (label is not None or not isinstance(found.value, str))
        told = _numbered(role, numbers) if role is not None and is_known else None
        name = f"{block.instance}: {one.name}"
        yield _entry(f"{block.path}.{one.name}", name, found, one.line, told)


def _numbered(role: str, numbers: Counter[str]) -> str | None:
    """The role with its number; none for a second one of a role that there is once."""
    numbers[role] += 1
    if numbers[role] == 1:
        return role
    known = roles.find(role)
    is_numbered = known is not None and known.numbered and numbers[role] <= _MOST_NUMBER
    return f"{role}.{numbers[role]}" if is_numbered else None


def _entry(code: str, name: str, found: Resolved, line: int, role: str | None) -> Entry:
    return Entry(
        code,
        found.value,
        line,
        f"{name}{_SAID[found.kind]}",
        found.unit,
        data_type=_data_type(found, role),
        access=_ACCESS[found.kind],
        role=role,
        group=roles.CONTROLLER,
    )


def _data_type(found: Resolved, role: str | None) -> str | None:
    """A number counts in no steps: 250 and 250.4 are two positions."""
    known = roles.find(role) if role is not None else None
    is_choice = known is not None and known.choices is not None
    if isinstance(found.value, str) and not is_choice:
        return "VISIBLE_STRING"
    return None if is_choice or found.unit else "REAL64"
