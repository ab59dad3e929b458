"""What git tells about objects: commits, trees, and contents."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from vault.model.errors import Damaged


class GitObject(NamedTuple):
    """An object of git's; `kind` is `blob`, `tree` or `commit`, and `id` the SHA-1 of it all."""

    id: str
    kind: str
    content: bytes


@dataclass(frozen=True, slots=True)
class TreeEntry:
    """One name in a git tree; `kind` is `blob` or `tree`."""

    path: str
    kind: str
    id: str


@dataclass(frozen=True, slots=True)
class CommitHeader:
    """Parents, author (`Name <mail>`), author date in git's raw form, message, and the second
    since 1970 at which it was committed."""

    parents: tuple[str, ...]
    author: str
    authored: str
    message: str
    committed: int


@dataclass(frozen=True, slots=True)
class LoggedCommit:
    """A commit in a list: when it was made, by whom (`Name <mail>`), and its subject."""

    commit: str
    at: datetime
    by: str
    subject: str


def read_commit(commit: str, content: bytes | None) -> CommitHeader:
    """What the content of a commit object says. Raises Damaged where it cannot be read."""
    try:
        text = (content or b"").decode("utf-8", "replace")
        head, message = text.split("\n\n", 1)
        fields = [line.partition(" ")[::2] for line in head.split("\n")]
        named = dict(fields)
        author, seconds, offset = named["author"].rsplit(" ", 2)
        committed = int(named["committer"].rsplit(" ", 2)[1])
    except (ValueError, KeyError) as error:
        raise Damaged(f"commit {commit[:10]} cannot be read") from error
    parents = tuple(value for key, value in fields if key == "parent")
    return CommitHeader(parents, author, f"{seconds} {offset}", message, committed)


def read_tree(content: bytes, path: str) -> Iterator[TreeEntry]:
    """What the content of the tree object of a folder lists, "" for the one above all.

    Each entry is mode, blank, name, NUL, and the 20 bytes of an id (git's own documentation).
    """
    folder, at = f"{path}/" if path else "", 0
    while at < len(content):
        end = content.index(b"\0", at)
        mode, name = content[at:end].split(b" ", 1)
        kind = "tree" if mode == b"40000" else "blob"
        entry_id = content[end + 1 : end + 21].hex()
        yield TreeEntry(f"{folder}{name.decode('utf-8', 'replace')}", kind, entry_id)
        at = end + 21
