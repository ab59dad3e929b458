"""The site: name, approval policy, how often exports are due, where alerts go.

Pydantic schema of `vault.yaml`, which people write by hand.
"""

from __future__ import annotations

from typing import Annotated, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, Field

from vault.model.alert_channels import Channels
from vault.model.axis_quantities import Interval
from vault.model.hazard_policy import HazardPolicy
from vault.model.strict import Strict
from vault.model.written_form import DateForm, DecimalMark, WrittenForm


def _known_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValueError("no time zone has this name; write it like Europe/Berlin") from error
    return name


class ApprovalPolicy(Strict):
    """What a golden baseline takes."""

    second_person: bool = Field(False, description="who took the snapshot may not approve it")
    reason: bool = Field(True, description="a reason must be given")
    clean_check: bool = Field(
        False, description="every finding of `check` must be accepted by name"
    )
    trial: bool = Field(
        False,
        description="a trial that is whole and passed is needed, and for signing a restore off too",
    )


class SigningPolicy(Strict):
    """Whether every commit must be signed with a key of `allowed_signers`."""

    required: bool = Field(
        False, description="every commit must carry a signature by one of `allowed_signers`"
    )


class WrittenRecord(Strict):
    """How numbers and dates are written for people, and read from them."""

    decimal: DecimalMark = Field("point", description="the mark before decimals")
    dates: DateForm = Field("year-month-day", description="how a day is written")
    zone: Annotated[str, AfterValidator(_known_zone)] | None = Field(
        None,
        description="the clocks of the site, by the name of the IANA time zone database: "
        "`Europe/Berlin`; else those of the computer",
    )

    @property
    def form(self) -> WrittenForm:
        """The form itself."""
        return WrittenForm(self.decimal, self.dates, self.zone)


class SiteRecord(Strict):
    """What vault.yaml holds."""

    schema_: Literal["axisvault/vault/1"] = Field(alias="schema", description="what this file is")
    site: str = Field(min_length=1, description="the name of the site")
    reads: int = Field(
        default=1,
        ge=1,
        description="the format that a program must know to use the vault; the program writes it",
    )
    approval: ApprovalPolicy = Field(
        ApprovalPolicy(), description="what approving a golden baseline takes"
    )
    signing: SigningPolicy = Field(SigningPolicy(), description="whether commits must be signed")
    hazards: HazardPolicy = Field(
        HazardPolicy(), description="which loss on a margin that protects is a hazard"
    )
    export_every: Interval | None = Field(
        None, description="how often an export is due: `90 d`; an axis record may say otherwise"
    )
    alerts: Channels = Field((), description="the channels that are told of drift, as a list")
    open_reading: bool | None = Field(
        None,
        description="whether pages may be read without logging in; unless it is said, they may on "
        "the viewer's own machine alone",
    )
    written: WrittenRecord = Field(
        WrittenRecord(), description="how numbers and dates are written for people"
    )
    viewer: str | None = Field(
        default=None,
        pattern=r"^https?://[^\s@]+$",
        description="the address under which people open the pages, for links in messages and on "
        "sheets",
    )

    def axis_link(self, axis: str) -> str | None:
        """Where the viewer shows an axis; None where the site has no viewer."""
        return f"{self.viewer.rstrip('/')}/axis/{axis}" if self.viewer else None
