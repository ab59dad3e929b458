"""Writing many commits through one `git fast-import` process.

Nothing written here is seen by anybody until the branch is moved.
"""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from subprocess import Popen
from types import TracebackType
from typing import TYPE_CHECKING

from vault.model.errors import Unavailable
from vault.model.names import commit_id
from vault.store.clock import git_time
from vault.store.git.signing import signed, signing_key

if TYPE_CHECKING:
    from pathlib import Path

    from vault.store.git._program import GitProgram

INCOMING = "refs/axisvault/incoming"
NOTHING = "0" * 40
_COMMITTER = "axisvault <axisvault@localhost>"
# A commit writes the tree of all machines anew, of which one entry is another: as a difference it
# is as small in a large vault as in a small one. Housekeeping finds better ones for files.
_COMMAND = (
    "-c", "pack.compression=1", "fast-import", "--depth=50",
    "--quiet", "--force", "--done", "--date-format=raw",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CommitText:
    """Who, when and what of a commit; `author` is `Name <mail>`."""

    message: str
    author: str
    authored: datetime
    committed: datetime


class FastImport:
    """A running `git fast-import`; commits are named by their id as soon as they are given."""

    def __init__(self, git: GitProgram) -> None:
        self._git = git
        self._key = signing_key()
        self._process: Popen[bytes] | None = git.start(*_COMMAND)
        self._mark = 0
        self._marks: dict[str, int] = {}

    def __enter__(self) -> FastImport:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, _e: BaseException | None, _t: TracebackType | None
    ) -> None:
        if self._process is None:
            return
        if kind is None:
            self.finish()
        else:
            self._process.kill()
            self._reap()

    def commit(
        self,
        text: CommitText,
        changes: Mapping[str, bytes],
        *,
        parent: str | None,
        merged: str | None = None,
        emptied: Iterable[str] = (),
    ) -> str:
        """Write one commit and return its id.

        `changes` replaces files, `emptied` names files or folders that are removed first.
        """
        self._mark += 1
        parts = [
            f"commit {INCOMING}\nmark :{self._mark}\n".encode(),
            f"author {text.author} {git_time(text.authored)}\n".encode(),
            f"committer {_COMMITTER} {git_time(text.committed)}\n".encode(),
            _block(text.message.encode()),
        ]
        if parent is None:  # else fast-import would go on from the commit before
            parts.insert(0, f"reset {INCOMING}\n\n".encode())
        else:
            parts.append(f"from {self._name(parent)}\n".encode())
        if merged is not None:
            parts.append(f"merge {self._name(merged)}\n".encode())
        parts += [f"D {_path(name)}\n".encode() for name in emptied]
        for name, content in changes.items():
            parts += [f"M 100644 inline {_path(name)}\n".encode(), _block(content)]
        parts.append(f"\nget-mark :{self._mark}\n".encode())
        self._write(b"".join(parts))
        commit = self._answer()
        if self._key is not None:
            parents = [name for name in (parent, merged) if name is not None]
            return self._signed(text, parents, self._key)
        self._marks[commit] = self._mark
        return commit

    def _signed(self, text: CommitText, parents: list[str], key: Path) -> str:
        """The commit just written once more, with a signature; fast-import cannot sign itself."""
        self._write(f'ls :{self._mark} ""\n'.encode())
        tree = self._read_line().split()[2]
        head = [
            f"tree {tree}",
            *(f"parent {name}" for name in parents),
            f"author {text.author} {git_time(text.authored)}",
            f"committer {_COMMITTER} {git_time(text.committed)}",
        ]
        commit = "\n".join(head) + "\n\n" + text.message
        with tempfile.TemporaryFile() as file:
            file.write(signed(commit.encode(), key))
            file.seek(0)
            return self._git.run("hash-object", "-t", "commit", "-w", "--stdin", given=file).strip()

    def finish(self) -> None:
        """Have git store everything durably. Raises Unavailable if it cannot."""
        self._write(f"reset {INCOMING}\nfrom {NOTHING}\n\ndone\n".encode())  # leave no name behind
        self._reap(check=True)

    def _name(self, commit: str) -> str:
        """Git finds the commits of the running import by their marks only."""
        mark = self._marks.get(commit)
        return commit_id(commit) if mark is None else f":{mark}"

    def _write(self, content: bytes) -> None:
        stdin = self._running().stdin
        assert stdin is not None
        try:
            stdin.write(content)
            stdin.flush()
        except OSError as error:
            self._reap(check=True)
            raise Unavailable(f"git stopped writing: {error}") from error

    def _answer(self) -> str:
        line = self._read_line().strip()
        if len(line) != 40:
            self._reap(check=True)
            raise Unavailable("git stopped writing without giving a reason")
        return line

    def _read_line(self) -> str:
        stdout = self._running().stdout
        assert stdout is not None
        return stdout.readline().decode()

    def _running(self) -> Popen[bytes]:
        assert self._process is not None, "it has ended"
        return self._process

    def _reap(self, *, check: bool = False) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        assert process.stdin is not None
        assert process.stdout is not None
        assert process.stderr is not None
        for pipe in (process.stdin, process.stdout):
            with contextlib.suppress(OSError):
                pipe.close()
        reason = process.stderr.read().decode("utf-8", "replace").strip()
        process.stderr.close()
        status = process.wait()
        if check and status != 0:
            first = next((s for s in reason.splitlines() if s), f"git ended with status {status}")
            raise Unavailable(
                f"the vault cannot be written: {first}", hint="is the disk full or read-only?"
            )


def _block(content: bytes) -> bytes:
    return b"data %d\n%s\n" % (len(content), content)


def _path(name: str) -> str:
    """Spell a path for fast-import: quoted where it holds anything but plain characters."""
    if name.isascii() and not any(c in ' "\\\n' for c in name):
        return name
    escaped = name.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'
