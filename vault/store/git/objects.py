"""What git tells about commits and trees."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from vault.model.errors import Damaged


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


@dataclass(frozen=True, slots=True)
class Logged:
    """A commit that touched a path: when it was made, by whom (`Name <mail>`), and its subject."""

    commit: str
    at: datetime
    by: str
    subject: str
