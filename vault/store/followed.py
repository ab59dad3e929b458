"""Whose golden baseline holds for an axis, where its record says that it follows another one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from vault.model.errors import Unreadable
from vault.store.files import layout, yaml_text
from vault.store.files.edited_files import kept_axis

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord
    from vault.model.names import Address


class Records(Protocol):
    """What is asked of a vault."""

    def read(self, path: str) -> bytes | None:
        """Content of a file."""

    def address(self, text: str) -> Address:
        """The axis that somebody names."""

    def exists(self, address: Address) -> bool:
        """Whether there is such an axis."""

    def axis_record(self, address: Address) -> AxisRecord | None:
        """The axis as built."""


def followed_axis(vault: Records, address: Address) -> Address | None:
    """The axis whose baseline holds for this one, None where it has its own.

    A controller's set has its own always: what it holds is called by the axis's own names.
    Raises Unreadable where that axis follows another one itself.
    """
    if address.is_controller:
        return None
    path = layout.axis_file(address)
    content = vault.read(path)
    # Else it need not be read: that is slow.
    if content is None or not yaml_text.may_mention(content, b"follows"):
        return None
    record = kept_axis(content, path)
    if record.follows is None:
        return None
    followed = vault.address(record.follows)
    line = yaml_text.line_of(content, ("follows",))
    if followed == address or not vault.exists(followed):
        itself = "an axis cannot follow itself"
        reason = itself if followed == address else f"there is no {followed}"
        raise Unreadable(f"follows: {reason}", file=path, line=line)
    its_record = vault.axis_record(followed)
    if its_record is not None and its_record.follows is not None:
        reason = f"follows: {followed} follows {its_record.follows} itself; name that one"
        raise Unreadable(reason, file=path, line=line)
    return followed
