"""What git tells about commits and trees."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


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
class Logged:
    """A commit that touched a path: when it was made, by whom (`Name <mail>`), and its subject."""

    commit: str
    at: datetime
    by: str
    subject: str
