"""A controller's project as XML: tasks, program instances, and what programs hold and give.

After IEC 61131-10 (edition 1), and the older form of the same trade that most tools still write
(version 2.01, elements in small letters). Names of elements and attributes are from memory; tags
are compared without their namespace and whatever is written large, so that a tool's own spelling
does not hide a program.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from vault.formats.iec_graph import attribute, graph_of
from vault.formats.iec_list import list_statements
from vault.formats.iec_literals import microseconds
from vault.formats.iec_st import Given, Lent, Statements, statements
from vault.formats.xml_text import XmlElement, read_xml
from vault.model.errors import Unreadable
from vault.model.export import Scalar

_POUS = {
    "program": "program", "functionblock": "function_block", "class": "function_block",
    "function": "function",
}  # fmt: skip
_GRAPHS = ("fbd", "ld", "sfc", "bodycontent")
_ANYWHERE = ("actions", "action", "transition", "method")
_MOST_TEXT = 4_000_000  # characters of a program's text, far above any
_YES = ("true", "1")


@dataclass(frozen=True, slots=True)
class Variable:
    """A variable as declared. `section` is `local`, `input`, `output`, `inout`, `external`, `temp`.

    `is_held` is one that keeps its value over a restart or has an address: what it holds is not
    what it begins with.
    """

    name: str
    type_name: str
    initial: str | None
    section: str
    line: int
    is_constant: bool = False
    is_held: bool = False


@dataclass(slots=True)
class Pou:
    """A program or function block: its variables by name in small letters, what it gives.

    `written` are the paths that it writes otherwise than by what it gives, in small letters;
    `blocks` the types of blocks that only its pictures name.
    """

    name: str
    kind: str
    line: int
    variables: dict[str, Variable] = field(default_factory=dict)
    given: list[Given] = field(default_factory=list)
    called: list[tuple[str, int]] = field(default_factory=list)
    written: set[str] = field(default_factory=set)
    lent: set[Lent] = field(default_factory=set)
    blocks: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Task:
    """A task: its interval in microseconds, None where it runs by an event or says none."""

    name: str
    interval: Scalar | None
    priority: str
    line: int


@dataclass(frozen=True, slots=True)
class Instance:
    """A program that runs: its own name, the program's, and its task's."""

    name: str
    program: str
    task: str | None


@dataclass(slots=True)
class Project:
    """All of it. `globals` are by name in small letters; `lists` name where each is declared.

    `listed` are all of them by list and name; `twins` are names that more than one list has.
    """

    pous: dict[str, Pou] = field(default_factory=dict)
    tasks: list[Task] = field(default_factory=list)
    instances: list[Instance] = field(default_factory=list)
    globals: dict[str, Variable] = field(default_factory=dict)
    lists: dict[str, str] = field(default_factory=dict)
    listed: dict[tuple[str, str], Variable] = field(default_factory=dict)
    twins: set[str] = field(default_factory=set)
    written_at: str | None = None
    encoding: str = "utf-8"


def read_project(content: bytes, file: str) -> Project:
    """Read a project. Raises Unreadable for what is no XML, not safe, too large, or no project."""
    xml = read_xml(content, file=file)
    if _tag(xml.root) != "project":
        raise Unreadable("this is no controller's project", file=file, line=1)
    found = Project(encoding=xml.codec)
    _head(xml.root, found)
    for element in xml.root.children:
        if _tag(element) == "types":
            _types(element, found, file)
        elif _tag(element) == "instances":
            _instances(element, found)
    if not found.pous and not found.tasks:
        raise Unreadable("this project holds no program and no task", file=file, line=1)
    return found


def _tag(element: XmlElement) -> str:
    return element.tag.casefold()


def _get(element: XmlElement, *names: str) -> str:
    """Text of the first attribute there is, or of the child of that name; empty where none is."""
    if text := attribute(element, *names):
        return text
    for child in element.children:
        if _tag(child) in names:
            return _all_text(child).strip()
    return ""


def _all_text(element: XmlElement) -> str:
    return "".join(one.text for one in element.walk())


def _head(root: XmlElement, found: Project) -> None:
    for element in root.children:
        if _tag(element) == "contentheader":
            found.written_at = _get(element, "modificationdatetime", "creationdatetime") or None


def _types(types: XmlElement, found: Project, file: str) -> None:
    waiting = [types]
    while waiting:
        element = waiting.pop()
        tag = _tag(element)
        kind = _POUS.get(_get(element, "poutype").casefold()) if tag == "pou" else _POUS.get(tag)
        if kind is not None and (name := _get(element, "name")):
            found.pous.setdefault(name.casefold(), _pou(element, name, kind, file))
        elif tag == "globalvars":
            _global(element, found)
        elif tag not in ("pou", "datatype", "datatypes"):
            waiting += reversed(element.children)


def _pou(element: XmlElement, name: str, kind: str, file: str) -> Pou:
    pou = Pou(name, kind, element.line)
    length = 0
    waiting = [*reversed(element.children)]
    while waiting:
        part = waiting.pop()
        tag = _tag(part)
        if tag.endswith("vars"):
            for variable in _variables(part, tag.removesuffix("vars")):
                pou.variables.setdefault(variable.name.casefold(), variable)
            pou.given += _first_inputs(part)
        elif tag in ("st", "il"):
            text = _all_text(part)
            length += len(text)
            if length > _MOST_TEXT:
                reason = f"the program {name} is longer than any that is read"
                raise Unreadable(reason, file=file, line=part.line)
            _take_text(pou, text, part)
        else:
            if tag in _GRAPHS:
                _take_graph(pou, part)
            waiting += reversed(part.children)
    return pou


def _take_text(pou: Pou, text: str, element: XmlElement) -> None:
    inner = next((one for one in element.walk() if one.text), element)
    first = inner.value.line
    said: Statements = (list_statements if _tag(element) == "il" else statements)(text)
    pou.given += [Given(one.target, one.expression, first + one.line) for one in said.given]
    pou.called += [(path, first + line) for path, line in said.called]
    pou.written |= {path.casefold() for path in said.written}
    pou.lent |= said.lent


def _take_graph(pou: Pou, element: XmlElement) -> None:
    said = graph_of(element)
    pou.given += said.given
    pou.called += said.called
    pou.written |= said.written
    pou.lent |= said.lent
    pou.blocks |= {name.casefold(): kind for name, kind in said.blocks.items()}


_SECTIONS = frozenset(["local", "input", "output", "inout", "external", "temp", "global"])


def _variables(section: XmlElement, kind: str) -> Iterator[Variable]:
    is_constant = _get(section, "constant").casefold() in _YES
    is_held = any(_get(section, key).casefold() in _YES for key in ("retain", "persistent"))
    for element in section.children:
        name = _get(element, "name") if _tag(element) == "variable" else ""
        if not name:
            continue
        initial, type_name = None, ""
        for child in element.children:
            if _tag(child) == "initialvalue":
                simple = [one for one in child.children if _tag(one) == "simplevalue"]
                initial = _get(simple[0], "value") if len(simple) == 1 else None
            elif _tag(child) == "type":
                type_name = _type_name(child)
        located = bool(_get(element, "address")) or any(
            _tag(child) == "address" for child in element.children
        )
        yield Variable(
            name,
            type_name,
            initial,
            kind if kind in _SECTIONS else "local",
            element.line,
            is_constant or _get(element, "constant").casefold() in _YES,
            is_held or located,
        )


def _first_inputs(section: XmlElement) -> Iterator[Given]:
    """What an instance's inputs begin with, as its declaration says: that is given to them too."""
    for element in section.children:
        name = _get(element, "name") if _tag(element) == "variable" else ""
        for one in element.walk() if name else ():
            member = _get(one, "member") if _tag(one) == "value" else ""
            simple = [child for child in one.children if _tag(child) == "simplevalue"]
            if member and simple:
                yield Given(f"{name}.{member}", _get(simple[0], "value"), one.line)


def _type_name(element: XmlElement) -> str:
    """The innermost type: of an array that of its elements."""
    found = ""
    for one in element.walk():
        tag = _tag(one)
        if tag == "derived":
            found = _get(one, "name")
        elif tag == "typename":
            found = one.text
        elif not one.children and tag not in ("type", "dimension", "basetype", "array", "lower"):
            found = found or one.tag
    return found


def _global(section: XmlElement, found: Project) -> None:
    where = _get(section, "name") or "GLOBAL"
    for variable in _variables(section, "global"):
        key = variable.name.casefold()
        if key in found.globals:
            found.twins.add(key)
        found.globals.setdefault(key, variable)
        found.listed.setdefault((where.casefold(), key), variable)
        found.lists.setdefault(key, where)


def _instances(instances: XmlElement, found: Project) -> None:
    waiting: list[tuple[XmlElement, str | None]] = [(instances, None)]
    while waiting:
        element, task = waiting.pop()
        tag = _tag(element)
        if tag == "task":
            task = _get(element, "name")
            interval = microseconds(_get(element, "interval"))
            priority = _get(element, "priority")
            found.tasks.append(Task(task, interval, priority, element.line))
        elif tag in ("pouinstance", "programinstance"):
            of = _get(element, "associatedtaskname", "task") or task
            program = _get(element, "typename", "type") or _get(element, "name")
            found.instances.append(Instance(_get(element, "name") or program, program, of))
        elif tag == "globalvars":
            _global(element, found)
        waiting += [(child, task) for child in reversed(element.children)]
