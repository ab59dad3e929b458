"""Which versions of a file git stores as differences from each other when it packs.

Git tries objects against those that sort beside them, by the ends of their paths first. In a
vault all ends are alike, and the versions of one axis lie scattered among those of all others. So
we give git other names to sort by: what a file is, then where it lies.
"""

from __future__ import annotations

from zlib import crc32

# Git's sort key weighs the last character most, and each one before it a quarter of the next:
# so far apart, kinds do not mix. (builtin/pack-objects.c, pack_name_hash.)
_KINDS = {"export": "!", "parameters.yaml": "5", "snapshot.yaml": "I"}
_OTHERS = "]"


def sorted_line(line: str) -> str:
    """A line of `git rev-list --objects`, id and path, with a name to sort by for a path."""
    object_id, _, path = line.partition(" ")
    if not path:
        return object_id
    folder, _, name = path.rpartition("/")
    if folder.endswith("/export"):  # whose file has another name each time
        path, name = folder, "export"
    return f"{object_id} {crc32(path.encode()):08x}{_KINDS.get(name, _OTHERS)}"
