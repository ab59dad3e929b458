"""Values as YAML has them within a line, exact, and read back as they were."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from vault.model.quantities import plain

_PLAIN = re.compile(r"[A-Za-zÄÖÜäöüß][\w /().,%°+-]*[\w)%°]|[A-Za-z]", re.UNICODE)
_RESERVED = frozenset(["yes", "no", "on", "off", "true", "false", "null", "y", "n"])


def in_line(content: Any) -> str:
    """A value, list or mapping within a line."""
    if isinstance(content, bool):
        return "true" if content else "false"
    if isinstance(content, Mapping):
        return "{" + ", ".join(f"{key}: {in_line(each)}" for key, each in content.items()) + "}"
    if isinstance(content, Sequence) and not isinstance(content, str):
        return f"[{', '.join(map(in_line, content))}]"
    if content is None:
        return "null"
    if isinstance(content, int | Decimal):
        return plain(content)
    return scalar(content)


def scalar(text: Any) -> str:
    """A text as YAML has it within a line: quoted wherever it could be taken for something else."""
    if not isinstance(text, str):
        return in_line(text)
    if (
        _PLAIN.fullmatch(text)
        and text.casefold() not in _RESERVED
        and not set(text) & set(",{}[]#:")
        and "  " not in text
    ):
        return text
    return f'"{"".join(map(_escaped, text))}"'


def _escaped(sign: str) -> str:
    """A character within quotes; YAML knows no pairs of halves as JSON has them (YAML 1.2, 5.7)."""
    if ord(sign) > 0xFFFF and not sign.isprintable():
        return f"\\U{ord(sign):08X}"
    return json.dumps(sign, ensure_ascii=not sign.isprintable())[1:-1]
