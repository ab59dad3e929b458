"""Controllers' projects for tests, in both forms of the XML; written apart from the reader.

Names of elements are from memory: IEC 61131-10 edition 1, and the older form in small letters,
version 2.01.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

OLD_NAMESPACE = "http://www.plcopen.org/xml/tc6_0201"
Pairs = Sequence[tuple[str, str]]


def old_variables(pairs: Sequence[tuple[str, str, str]], section: str = "localVars") -> str:
    """A section of variables: name, type and initial value, empty where there is none."""
    return (
        f"<{section}>"
        + "".join(
            f'<variable name="{name}"><type>{_old_type(kind)}</type>'
            + (
                f"<initialValue><simpleValue value={quoteattr(initial)}/></initialValue>"
                if initial
                else ""
            )
            + "</variable>"
            for name, kind, initial in pairs
        )
        + f"</{section.split()[0]}>"
    )


def _old_type(kind: str) -> str:
    basic = kind in ("LREAL", "REAL", "DINT", "BOOL", "TIME", "STRING")
    return f"<{kind}/>" if basic else f'<derived name="{kind}"/>'


def old_st(text: str) -> str:
    """A body in structured text."""
    return (
        f'<body><ST><xhtml xmlns="http://www.w3.org/1999/xhtml">{escape(text)}</xhtml></ST></body>'
    )


def old_picture(language: str, kind: str, name: str, inputs: Pairs) -> str:
    """A body with one block in a ladder or a function-block diagram, and what it is wired to."""
    sources = "".join(
        f'<inVariable localId="{n}"><connectionPointOut/><expression>{escape(text)}</expression>'
        "</inVariable>"
        for n, (_, text) in enumerate(inputs, start=1)
    )
    wires = "".join(
        f'<variable formalParameter="{key}"><connectionPointIn><connection refLocalId="{n}"/>'
        "</connectionPointIn></variable>"
        for n, (key, _) in enumerate(inputs, start=1)
    )
    return (
        f"<body><{language}>{sources}"
        f'<block localId="{len(inputs) + 1}" typeName="{kind}" instanceName="{name}">'
        f"<inputVariables>{wires}</inputVariables><inOutVariables/><outputVariables/></block>"
        f"</{language}></body>"
    )


def old_pou(name: str, interface: str, body: str, kind: str = "program") -> str:
    """A program or function block."""
    return f'<pou name="{name}" pouType="{kind}"><interface>{interface}</interface>{body}</pou>\n'


def old_project(
    pous: str,
    running: Sequence[tuple[str, str]] = (("Main", "Motion"),),
    tasks: Sequence[tuple[str, str, str]] = (("Motion", "PT0.004S", "1"),),
    namespace: str = OLD_NAMESPACE,
    globals_: str = "",
) -> bytes:
    """A whole project in the older form: `running` are programs with their tasks."""
    lines = "".join(
        f'<task name="{task}" interval="{interval}" priority="{priority}">'
        + "".join(
            f'<pouInstance name="{name}" typeName="{name}"/>' for name, of in running if of == task
        )
        + "</task>\n"
        for task, interval, priority in tasks
    )
    return (
        '<?xml version="1.0" encoding="utf-8"?>\n'
        f'<project xmlns="{namespace}"><fileHeader companyName="Invented" productName="x" '
        'productVersion="1" creationDateTime="2026-01-02T03:04:05"/>'
        '<contentHeader name="line" modificationDateTime="2026-03-02T03:04:05"/>\n'
        f"<types><dataTypes/><pous>{pous}</pous></types>\n"
        '<instances><configurations><configuration name="c"><resource name="r">\n'
        f"{lines}{globals_}</resource></configuration></configurations></instances></project>\n"
    ).encode()
