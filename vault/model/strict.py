"""What files of people are read into: a key that nobody knows is refused."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Strict(BaseModel):
    """A record that is never changed, and has no key but its own.

    Errors do not repeat what was written: it may be a secret where none belongs.
    """

    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, hide_input_in_errors=True
    )
