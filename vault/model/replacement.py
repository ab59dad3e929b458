"""What is fitted instead of a drive that failed, as far as somebody read it off its plates."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field, StrictInt, StrictStr

from vault.model.axis_quantities import Current, Torque


class Replacement(BaseModel):
    """Fitted hardware; None where nobody said.

    `drive`, `firmware` and `drive_rated_current` are the drive's, `motor`, `rated_current` and
    `rated_torque` the motor's. Bits of the encoder are those of one turn, and of the turns.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    drive: StrictStr | None = None
    firmware: StrictStr | None = None
    motor: StrictStr | None = None
    encoder_single_turn_bits: StrictInt | None = Field(default=None, ge=1, le=64)
    encoder_multi_turn_bits: StrictInt | None = Field(default=None, ge=0, le=64)
    rated_current: Current | None = None
    rated_torque: Torque | None = None
    drive_rated_current: Current | None = None
