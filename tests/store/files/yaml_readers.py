"""Texts and numbers that trap readers of YAML, and another reader to hold ours against."""

from __future__ import annotations

from io import StringIO
from typing import Any

from hypothesis import strategies as st
from ruamel.yaml import YAML

# Texts that YAML readers take for something else where they stand without quotes.
# YAML 1.1: bool, null, int (base 2, 8, 10, 16, 60), float, merge, value, timestamp types of
# yaml.org/type; YAML 1.2: the core schema. From memory.
TRAPS = [
    "", " ", "~", "null", "Null", "NULL", "true", "True", "yes", "Yes", "no", "NO", "on", "Off",
    "y", "N", "0", "1", "-1", "+1", "1.5", ".5", "1.", "1e3", "1E-3", "-.inf", ".nan", "inf", "nan",
    "0x1F", "0o17", "017", "0b101", "1_000", "190:20:30", "12:30", "2001-12-14",
    "2001-12-14t21:59:43.10-05:00", "<<", "=", "- a", "-", "? a", ": a", "a: b", "a:", "a #b", "#a",
    "a, b", "[a]", "{a}", "{", "}", "!a", "&a", "*a", "%a", "@a", "`a", "|", ">", "'a'", '"a"',
    "a\nb", "a\tb", " a", "a ", "\u0085", "\u2028", "\ufeff", "\x00", "\x7f", "é", "°", "😀", "\\",
    "0x6065:00", "0x6065:0G", "name: x, role: y", ", role: z, value: 1", "a'b", "e", "_", "_1",
]  # fmt: skip

signs = st.characters(exclude_categories=["Cs"])
texts = st.text(signs, max_size=20) | st.sampled_from(TRAPS)
numbers = st.integers(-(10**40), 10**40) | st.decimals(
    allow_nan=False, allow_infinity=False
).filter(lambda d: abs(d.adjusted()) < 60)


def foreign(text: bytes, version: str, *, pure: bool = True) -> Any:
    """What ruamel.yaml's safe loader reads by the rules of a YAML version."""
    loader = YAML(typ="safe", pure=pure)
    if pure:
        loader.version = version
    return loader.load(StringIO(text.decode()))
