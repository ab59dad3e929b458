"""A machine: its title, its tags, and the twin that it is held against.

Pydantic schema of `machines/<machine>/machine.yaml`, which people write by hand.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StrictStr, model_validator

from vault.model.errors import WrongUsage
from vault.model.names import checked_name

_MOST = 1000


def _name_of(what: str) -> AfterValidator:
    def checked(text: str) -> str:
        try:
            return checked_name(text, what)
        except WrongUsage as error:
            raise ValueError(str(error)) from error

    return AfterValidator(checked)


MachineName = Annotated[StrictStr, _name_of("machine")]
AxisName = Annotated[StrictStr, _name_of("axis")]
Tag = Annotated[StrictStr, Field(min_length=1, max_length=64)]


class MachineRecord(BaseModel):
    """What people say about a machine.

    `twin` is a machine that is built alike; `pairs` are axes of this one and of the twin that go
    together though they are called otherwise.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    schema_: Literal["axisvault/machine/1"] = Field(alias="schema")
    title: StrictStr = ""
    location: StrictStr | None = None
    note: StrictStr | None = None
    tags: Annotated[tuple[Tag, ...], Field(max_length=_MOST)] = ()
    twin: MachineName | None = None
    pairs: Annotated[dict[AxisName, AxisName], Field(max_length=_MOST)] = Field(
        default_factory=dict
    )

    @model_validator(mode="after")
    def _pairs_are_of_a_twin(self) -> MachineRecord:
        if self.pairs and self.twin is None:
            raise ValueError("pairs need the twin whose axes they name")
        if len(set(self.pairs.values())) < len(self.pairs):
            raise ValueError("pairs: an axis of the twin goes with one axis only")
        return self
