"""Why an export should not be taken in as it was said; a person may override it with a reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from vault.model.export import SkippedLine
    from vault.model.names import Address

ObjectionKind = Literal[
    "wrong_axis", "wrong_side", "description", "missing", "cut_off", "proves_nothing", "retired"
]


@dataclass(frozen=True, slots=True)
class Objection:
    """What a guard has against an export; `elsewhere` is the axis it seems to belong to, `problems`
    are all the parameters that it is about, where it is about any."""

    kind: ObjectionKind
    reason: str
    hint: str = "if it is right, say why: --even-so REASON"
    elsewhere: Address | None = None
    problems: tuple[SkippedLine, ...] = ()
