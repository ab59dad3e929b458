"""What a site counts as a hazard, of what a margin that protects loses above 1."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar


@dataclass(frozen=True, slots=True)
class HazardPolicy:
    """`hazards:` of vault.yaml; what stands here is our own choice.

    Raises ValueError.
    """

    __pydantic_config__: ClassVar[dict[str, Any]] = {"extra": "forbid"}

    material_share: Annotated[
        float, "the share of a margin, or of the room to stop in, that must be lost to matter"
    ] = 0.05
    comfort_ratio: Annotated[float, "the ratio above which a margin may shrink"] = 1.5

    def __post_init__(self) -> None:
        if not 0 < self.material_share <= 0.5:
            raise ValueError("material_share is a share above 0 and at most 0.5")
        if not 1 <= self.comfort_ratio <= 10:
            raise ValueError("comfort_ratio lies between 1 and 10")
