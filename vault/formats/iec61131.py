"""A controller's project after IEC 61131-10: the motion of one axis, as its programs have it.

Read only: a controller is never written, and its project is changed in its own tool. What belongs
to an axis is picked by the rule of its record (`vault.model.controller_rule`).
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from vault.formats.iec_axes import Found, motion_of, of_axis
from vault.formats.iec_project import read_project
from vault.formats.xml_text import root_of
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Listing

if TYPE_CHECKING:
    from vault.model.axis_pick import AxisPick
    from vault.model.export_dialect import ExportDialect

NAME = "iec61131"
OUTSIDE = ("scaling", "limits of the axis", "bus", "addresses")
_HEAD_BYTES = 64 * 1024
_MOST_TOLD = 12


def recognises(content: bytes, file: str) -> bool:
    """Say whether it is a controller's project: by its root, and a head as these have, or types.

    The namespace is not asked: tools write their own. A build file has the same root and no head.
    """
    root, _ = root_of(content)
    if root is None or root.casefold() != "project":
        return False
    head = content[:_HEAD_BYTES].replace(b"\0", b"").lower()
    return b"fileheader" in head and (b"contentheader" in head or b"types" in head)


def read(
    content: bytes,
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    node_id: int | None = None,
) -> Listing:
    """Read a project that holds one axis; see the protocol in `vault.formats.registry`."""
    if channel is not None:
        hint = "the axis record picks what is this axis's: controller: {match: [NAME]}"
        raise WrongUsage("a controller's project has no channels", file=file, hint=hint)
    return read_axis(content, file=file, pick=None)


def read_axis(content: bytes, *, file: str, pick: AxisPick | None) -> Listing:
    """Read what of a project is of the axis that the rule picks.

    Raises WrongUsage where no rule says which of several axes it is, or where nothing fits it.
    """
    found, encoding, written_at = _read(content, file)
    if not found.blocks:
        raise Unreadable("this project holds no motion block", file=file, line=1)
    if pick is None and len(found.axes) != 1:
        raise WrongUsage(
            f"this project moves {_told(found)}, and the axis record does not say what is this "
            "axis's",
            file=file,
            hint=_hint(found),
        )
    entries = of_axis(found, pick)
    if not entries:
        globs = ", ".join(pick.match) if pick is not None else ""
        raise WrongUsage(
            f"nothing in this project fits {globs}: it moves {_told(found)}",
            file=file,
            hint=_hint(found),
        )
    return Listing(
        format=NAME,
        entries=entries,
        holds="value",
        encoding=encoding,
        head_time=written_at,
        outside=OUTSIDE,
        pick=pick,
    )


class _Project(NamedTuple):
    motion: Found
    encoding: str
    written_at: str | None


# A file is read for one axis after the other, and after it was looked at: the last one is kept.
@lru_cache(maxsize=1)
def _read(content: bytes, file: str) -> _Project:
    project = read_project(content, file)
    return _Project(motion_of(project, file), project.encoding, project.written_at)


def _told(found: Found) -> str:
    """The axes of a project and, where these do not tell, the instances."""
    names = found.axes or [block.path for block in found.blocks]
    instances = [block.instance for block in found.blocks]
    axes = _listed([*dict.fromkeys(names)])
    return f"{axes} by the instances {_listed([*dict.fromkeys(instances)])}"


def _listed(names: list[str]) -> str:
    more = f" and {len(names) - _MOST_TOLD} more" if len(names) > _MOST_TOLD else ""
    return f"{', '.join(name[:60] for name in names[:_MOST_TOLD])}{more}"


def _hint(found: Found) -> str:
    axes = found.axes or [block.instance for block in found.blocks]
    return f"write into axis.yaml: controller: {{match: [{axes[0][:60]}]}}, or whichever it is"
