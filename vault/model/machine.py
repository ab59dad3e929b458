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
    """What people say about a machine."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    schema_: Literal["axisvault/machine/1"] = Field(alias="schema", description="what this file is")
    title: StrictStr = Field("", description="what people call it")
    location: StrictStr | None = Field(None, description="where it stands")
    note: StrictStr | None = Field(None, description="what a reader should know")
    tags: Annotated[tuple[Tag, ...], Field(max_length=_MOST)] = Field(
        (), description="words to find and filter it by, as a list"
    )
    twin: MachineName | None = Field(None, description="a machine that is built alike")
    pairs: Annotated[dict[AxisName, AxisName], Field(max_length=_MOST)] = Field(
        default_factory=dict,
        description="axes that go together under two names, the own one first: `ram: slide`",
    )

    @model_validator(mode="after")
    def _pairs_are_of_a_twin(self) -> MachineRecord:
        if self.pairs and self.twin is None:
            raise ValueError("pairs need the twin whose axes they name")
        if len(set(self.pairs.values())) < len(self.pairs):
            raise ValueError("pairs: an axis of the twin goes with one axis only")
        return self
