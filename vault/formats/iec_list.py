"""Instruction lists of IEC 61131-3, as far as they tell what is written and what blocks are given.

Operators from memory (IEC 61131-3, 7.2): `ST`, `STN`, `S` and `R` write, `CAL` calls.
"""

from __future__ import annotations

import re

from vault.formats.iec_st import Statements, statements

_WRITES = re.compile(r"^\s*(?:\w+\s*:)?\s*(?:STN?|S|R)\s+([A-Za-z_][\w.\[\]^]*)", re.I | re.M)
_CALLS = re.compile(r"^\s*(?:\w+\s*:)?\s*CALC?N?\s+", re.I | re.M)
_REMARK = re.compile(r"\(\*.*?\*\)|//[^\n]*", re.S)


def list_statements(text: str) -> Statements:
    """Calls of an instruction list, and what it stores; what it loads is known at run time."""
    plain = _REMARK.sub(lambda found: "\n" * found[0].count("\n"), text)
    written = frozenset(found[1] for found in _WRITES.finditer(plain))
    said = statements(_CALLS.sub("", plain))
    return Statements(said.given, said.called, written | said.written, said.lent)
