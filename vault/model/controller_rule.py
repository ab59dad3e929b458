"""Where the controller's project has an axis: what of it is this axis's, and how it counts.

`ControllerRule` stands in the axis record. What an export was read with is kept as an `AxisPick`,
so that whoever has export and record of a snapshot gets the same again.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import (
    AfterValidator,
    Field,
    StrictInt,
    StrictStr,
    StringConstraints,
    model_validator,
)

from vault.model.axis_pick import AxisPick
from vault.model.axis_quantities import Travel
from vault.model.bounds import OutOfBounds
from vault.model.strict import Strict

_MOST_COUNTS = 10**12
_MOST_GLOBS = 50
_LONGEST = 200


def _glob(text: str) -> str:
    if not text.strip() or text != text.strip():
        raise ValueError("a glob is no blank, and has none at its ends")
    if len(text) > _LONGEST:
        raise OutOfBounds(f"a glob has at most {_LONGEST} characters")
    return text


Glob = Annotated[StrictStr, AfterValidator(_glob)]


class ControllerScale(Strict):
    """How the controller counts: so many counts are so much way, in its user unit of position."""

    counts: StrictInt = Field(gt=0, le=_MOST_COUNTS, description="so many counts of the drive")
    per: Travel = Field(
        description="are so much way, such as `16 mm`: its unit is the controller's user unit"
    )


class ControllerRule(Strict):
    """Where the controller's project has this axis, and how it counts."""

    task: Annotated[StrictStr, StringConstraints(min_length=1)] | None = Field(
        None, description="the task that its motion runs in, where the project does not tell"
    )
    match: Annotated[tuple[Glob, ...], Field(min_length=1, max_length=_MOST_GLOBS)] | None = Field(
        None,
        description="globs over names of instances, axis references and variables: what fits any "
        "of them is this axis's, such as `[LiftAxis, Lift*]`",
    )
    scale: ControllerScale | None = Field(
        None, description="how it counts, such as `{counts: 1048576, per: 16 mm}`"
    )
    instance: Annotated[StrictStr, StringConstraints(min_length=1)] | None = Field(
        None, description="instead of `match`, as older records have it: the one instance"
    )
    tag_prefix: Annotated[StrictStr, StringConstraints(min_length=1)] | None = Field(
        None, description="instead of `match`, as older records have it: what its tags begin with"
    )

    @model_validator(mode="after")
    def _one_of(self) -> ControllerRule:
        said = [one for one in (self.match, self.instance, self.tag_prefix) if one is not None]
        if len(said) != 1:
            raise ValueError("say by `match` what is this axis's, such as match: [LiftAxis, Lift*]")
        return self

    @property
    def pick(self) -> AxisPick:
        """What of an export is this axis's."""
        if self.match is not None:
            return AxisPick(self.match, self.task)
        if self.instance is not None:
            name = _plain(self.instance)
            return AxisPick((name, f"{name}.*", f"*.{name}"), self.task)
        return AxisPick((f"{_plain(self.tag_prefix or '')}*",), self.task)


def _plain(text: str) -> str:
    """A text as a glob that fits nothing else."""
    return "".join(f"[{letter}]" if letter in "*?[" else letter for letter in text)
