"""The site: name, approval policy, how often exports are due, where alerts go.

Pydantic schema of `vault.yaml`, which people write by hand.
"""

from __future__ import annotations

from typing import Annotated, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from vault.model.alert_channels import Channels
from vault.model.axis_quantities import Interval
from vault.model.hazard_policy import HazardPolicy
from vault.model.written_form import DateForm, DecimalMark, WrittenForm


class _Strict(BaseModel):
    # A secret that somebody wrote into vault.yaml must not be repeated in an error.
    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, hide_input_in_errors=True
    )


def _known_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValueError("no time zone has this name; write it like Europe/Berlin") from error
    return name


class ApprovalPolicy(_Strict):
    """What a golden baseline takes.

    `second_person`: who took the snapshot may not approve it. `reason`: one must be given.
    `clean_check`: every finding of `check` must be accepted by name.
    """

    second_person: bool = False
    reason: bool = True
    clean_check: bool = False


class SigningPolicy(_Strict):
    """Whether every commit must be signed with a key of `allowed_signers`."""

    required: bool = False


class WrittenRecord(_Strict):
    """How numbers and dates are written for people, and read from them."""

    decimal: DecimalMark = "point"
    dates: DateForm = "year-month-day"
    zone: Annotated[str, AfterValidator(_known_zone)] | None = None

    @property
    def form(self) -> WrittenForm:
        """The form itself."""
        return WrittenForm(self.decimal, self.dates, self.zone)


class SiteRecord(_Strict):
    """What vault.yaml holds. `viewer` is the address under which people open the pages.

    `reads` is the format that a program must read to use the vault, which the program writes.
    `open_reading`: whether the pages may be read without logging in; None leaves it to where the
    viewer listens, which is only open to its own machine.
    """

    schema_: Literal["axisvault/vault/1"] = Field(alias="schema")
    site: str = Field(min_length=1)
    reads: int = Field(default=1, ge=1)
    approval: ApprovalPolicy = ApprovalPolicy()
    signing: SigningPolicy = SigningPolicy()
    hazards: HazardPolicy = HazardPolicy()
    export_every: Interval | None = None
    alerts: Channels = ()
    open_reading: bool | None = None
    written: WrittenRecord = WrittenRecord()
    viewer: str | None = Field(default=None, pattern=r"^https?://[^\s@]+$")

    def axis_link(self, axis: str) -> str | None:
        """Where the viewer shows an axis; None where the site has no viewer."""
        return f"{self.viewer.rstrip('/')}/axis/{axis}" if self.viewer else None
