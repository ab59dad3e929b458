"""Text that shows all there is to it: nothing in it can hide, reorder or command what stands there.

An export or a person may write characters that turn the direction of what follows, so that a value
reads as another one, or that a terminal takes for orders.
"""

from __future__ import annotations

import re

# Controls but tab and line ends, marks of direction (Unicode Standard Annex 9, table 1), what has
# no width, and halves of characters, which no encoding takes.
_HIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff"
    "\ud800-\udfff]"
)
STAND_IN = "\N{REPLACEMENT CHARACTER}"


def visible(text: str) -> str:
    """The text with a mark in place of each character that does something unseen."""
    return text if text.isprintable() else _HIDDEN.sub(STAND_IN, text)
