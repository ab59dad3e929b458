"""Ladder and function-block diagrams, as far as they tell what a block's inputs are wired to.

Objects are known by what they have: a source has an expression or identifier, a sink takes one, a
block has a type and named inputs. Both forms of the XML (see `vault.formats.iec_project`) are read
alike; names of elements and attributes from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from vault.formats.iec_st import Given, Lent
from vault.formats.xml_text import XmlElement

_SOURCES = frozenset(["invariable", "inoutvariable", "datasource"])
_SINKS = frozenset(["outvariable", "inoutvariable", "datasink", "coil"])
_INPUTS = frozenset(["variable", "inputvariable", "inoutvariable"])
_INPUT_LISTS = frozenset(["inputvariables", "inoutvariables"])
_AT_RUN_TIME = "(wired)"


@dataclass(slots=True)
class Graph:
    """What a picture gives to blocks' inputs, which blocks stand in it, and what it writes."""

    given: list[Given] = field(default_factory=list)
    called: list[tuple[str, int]] = field(default_factory=list)
    written: set[str] = field(default_factory=set)
    lent: set[Lent] = field(default_factory=set)
    blocks: dict[str, str] = field(default_factory=dict)


def graph_of(body: XmlElement) -> Graph:
    """Read one body; what is wired to nothing gives nothing."""
    objects = [element for element in body.children for element in _objects(element)]
    found = Graph()
    texts: dict[str, str] = {}
    for element in objects:
        for key in _outs(element):
            texts.setdefault(key, _text_of(element))
    for element in objects:
        kind = _kind(element)
        if kind in _SINKS and (text := _own_text(element)):
            found.written.add(text.casefold())
        if kind == "block":
            _block(element, texts, found)
    return found


def _objects(element: XmlElement) -> Iterator[XmlElement]:
    """Objects of a body, also those of a network or rung within it."""
    if _kind(element) in ("rung", "network", "ladderrung"):
        for child in element.children:
            yield from _objects(child)
    else:
        yield element


def _kind(element: XmlElement) -> str:
    """What an object is: its `xsi:type` where it has one, else its tag."""
    for key, value in element.attributes.items():
        if key.endswith("}type"):
            return value.text.rpartition(":")[2].casefold()
    return element.tag.casefold()


def attribute(element: XmlElement, *names: str) -> str:
    """Text of the first attribute there is of these names, in whatever namespace; else empty."""
    found = {key.rpartition("}")[2].casefold(): one.text for key, one in element.attributes.items()}
    return next((found[name].strip() for name in names if name in found), "")


def _own_text(element: XmlElement) -> str:
    """The expression of a source or sink, or the variable of a contact or coil."""
    if text := attribute(element, "identifier", "operand"):
        return text
    for child in element.children:
        if child.tag.casefold() in ("expression", "variable", "identifier", "operand"):
            return child.text
    return ""


def _text_of(element: XmlElement) -> str:
    """What a wire from an object carries, as far as the picture says it."""
    kind = _kind(element)
    if kind in _SOURCES:
        return _own_text(element)
    if kind in ("leftpowerrail", "powerrail"):
        return "TRUE"
    name = attribute(element, "instancename") or _own_text(element)
    return f"{name} {_AT_RUN_TIME}" if name else _AT_RUN_TIME


def _outs(element: XmlElement) -> Iterator[str]:
    """Names by which wires know an object: its number, or that of each of its outputs."""
    if number := attribute(element, "localid"):
        yield number
    for one in element.walk():
        if one.tag.casefold() == "connectionpointout" and (
            number := attribute(one, "connectionpointoutid")
        ):
            yield f"out {number}"


def _block(element: XmlElement, texts: dict[str, str], found: Graph) -> None:
    name, kind = attribute(element, "instancename"), attribute(element, "typename")
    for group in element.children:
        if group.tag.casefold() == "inoutvariables":
            for one in group.children:
                target = attribute(one, "formalparameter", "parametername")
                found.lent.add(Lent(name or kind, target, _wired(one, texts)))
    if not name:
        return
    found.blocks[name] = kind
    found.called.append((name, element.line))
    for group in element.children:
        tag = group.tag.casefold()
        if tag == "outputvariables":
            _outputs(group, found)
        elif tag in _INPUT_LISTS:
            for one in group.children:
                target = attribute(one, "formalparameter", "parametername")
                if one.tag.casefold() in _INPUTS and target:
                    text = _wired(one, texts)
                    if text:
                        found.given.append(Given(f"{name}.{target}", text, one.line))


def _outputs(group: XmlElement, found: Graph) -> None:
    """Variables that stand at an output without a wire: what the block writes there is theirs."""
    for one in group.walk():
        if one.tag.casefold() == "expression" and one.text:
            found.written.add(one.text.casefold())


def _wired(element: XmlElement, texts: dict[str, str]) -> str:
    """What an input is wired to; of several wires, or-ed in a ladder, none is told."""
    carried = []
    for one in element.walk():
        tag = one.tag.casefold()
        if tag == "expression" and one.text:
            carried.append(one.text)
        elif tag == "connection":
            number = attribute(one, "refconnectionpointoutid")
            key = f"out {number}" if number else attribute(one, "reflocalid")
            carried.append(texts.get(key, _AT_RUN_TIME))
    return carried[0] if len(carried) == 1 else (_AT_RUN_TIME if carried else "")
