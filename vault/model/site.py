"""The site: name, approval policy, how often exports are due, where alerts go.

Pydantic schema of `vault.yaml`, which people write by hand.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from vault.model.alert_channels import Channels
from vault.model.axis_quantities import Interval
from vault.model.hazard_policy import HazardPolicy


class _Strict(BaseModel):
    # A secret that somebody wrote into vault.yaml must not be repeated in an error.
    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, hide_input_in_errors=True
    )


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
    viewer: str | None = Field(default=None, pattern=r"^https?://[^\s@]+$")

    def axis_link(self, axis: str) -> str | None:
        """Where the viewer shows an axis; None where the site has no viewer."""
        return f"{self.viewer.rstrip('/')}/axis/{axis}" if self.viewer else None
