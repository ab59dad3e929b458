"""How git stores a vault: in few packs, small, with what makes histories quick.

Git stores versions of a file as differences from each other. It tries objects against those that
sort beside them, by the ends of their paths first. In a vault all ends are alike, and the versions
of one axis lie scattered among those of all others. So we give git other names to sort by: what a
file is, then where it lies.
"""

from __future__ import annotations

import contextlib
import tempfile
from typing import TYPE_CHECKING
from zlib import crc32

from vault.store.clock import now

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

_MANY_PACKS = 50  # as git's own gc.autoPackLimit; from memory
_LEFTOVERS = (
    "fast_import_crash_*", "objects/pack/tmp_*", "objects/pack/.tmp-*",
    "objects/info/commit-graph.lock",
)  # fmt: skip
# Where there may be many folders: looked at when everything is packed anew.
_LOOSE_LEFTOVERS = ("objects/??/tmp_obj_*", "objects/info/commit-graphs/*.lock")
_LEFTOVER_SECONDS = 24 * 3600.0
# Git's sort key weighs the last character most, and each one before it a quarter of the next:
# so far apart, kinds do not mix. (builtin/pack-objects.c, pack_name_hash.)
_KINDS = {"export": "!", "parameters.yaml": "5", "snapshot.yaml": "I"}
_OTHERS = "]"


def gather_packs(repository: Repository) -> None:
    """Make few packs of the many small ones that writing leaves, once there are many.

    A pack is joined only with as much again, so every object is written a few times at most. What
    processes left that were killed, or lost their power, goes too.
    """
    _remove_leftovers(repository)
    if len(list(repository.path.glob("objects/pack/*.pack"))) > _MANY_PACKS:
        repository.git.run("repack", "--geometric=2", "-d", "-q", "-l")


def housekeeping(repository: Repository) -> None:
    """Pack everything anew, and write the commit graph that makes histories quick."""
    _remove_leftovers(repository, *_LOOSE_LEFTOVERS)
    git = repository.git
    with tempfile.TemporaryFile() as objects:
        for line in git.lines("rev-list", "--objects", "--all"):
            objects.write(f"{sorted_line(line)}\n".encode())
        objects.seek(0)
        git.run(
            "pack-objects", "--no-reuse-delta", "--delta-base-offset", "--depth=50", "-q",
            "objects/pack/pack", given=objects,
        )  # fmt: skip
    git.run("repack", "-a", "-d", "-q", "-l")  # keeps those deltas, drops the other packs
    git.run("prune-packed", "-q")
    git.run("commit-graph", "write", "--reachable", "--changed-paths", "--no-progress")


def _remove_leftovers(repository: Repository, *also: str) -> None:
    """Remove temporary files that no process can be writing any more."""
    long_ago = now().timestamp() - _LEFTOVER_SECONDS
    for pattern in (*_LEFTOVERS, *also):
        for path in repository.path.glob(pattern):
            with contextlib.suppress(OSError):
                if path.stat().st_mtime < long_ago:
                    path.unlink()


def sorted_line(line: str) -> str:
    """A line of `git rev-list --objects`, id and path, with a name to sort by for a path."""
    object_id, _, path = line.partition(" ")
    if not path:
        return object_id
    folder, _, name = path.rpartition("/")
    if folder.endswith("/export"):  # whose file has another name each time
        path, name = folder, "export"
    return f"{object_id} {crc32(path.encode()):08x}{_KINDS.get(name, _OTHERS)}"
