"""The vault's bare git repository: read by object, and moved by compare-and-swap."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from time import sleep

from vault.model.errors import Damaged, Unavailable, WrongUsage
from vault.store.clock import now
from vault.store.git._program import GitProgram, first_line
from vault.store.git.fast_import import INCOMING, NOTHING, CommitText, FastImport
from vault.store.git.folder import SEE_VERIFY, check_folder, is_repository, why_unreadable
from vault.store.git.object_stream import ObjectStream
from vault.store.git.objects import CommitHeader, GitObject, TreeEntry, read_commit, read_tree

BRANCH = "refs/heads/main"
_LOCKS = ("HEAD.lock", "packed-refs.lock", f"{BRANCH}.lock", f"{INCOMING}.lock")
_LOCK_SECONDS = 3.0


class Repository:
    """A vault's git repository. Close it when done: git helper processes stay open with it.

    `git` is for the modules of this package alone.
    """

    def __init__(self, path: Path) -> None:
        self.path = path.resolve()
        self.git = GitProgram(self.path)
        self._ahead: dict[str, GitObject | None] = {}

    @classmethod
    def open(cls, path: Path) -> Repository:
        """Open an existing vault.

        Raises WrongUsage where there is none, Unavailable where it may not be read, Refused where
        it could make git run something, Damaged where its branch cannot be read.
        """
        hint = "make one with: axisvault create DIR --site NAME"
        try:
            if not path.exists():
                raise WrongUsage(f"there is no vault at {path}", hint=hint)
            if not is_repository(path):
                raise WrongUsage(f"{path} is no vault", hint=hint)
        except PermissionError as error:
            raise Unavailable(f"the vault cannot be read: {error}") from error
        except OSError as error:
            raise WrongUsage(f"there is no vault at {path}: {error.strerror}") from error
        check_folder(path)
        repository = cls(path)
        try:
            if repository.read(BRANCH, "vault.yaml") is None:
                if (path / "axisvault").is_dir():  # it was one
                    raise why_unreadable(path, BRANCH)
                raise WrongUsage(f"{path} is a git repository, but no vault", hint=hint)
        except BaseException:
            repository.close()
            raise
        return repository

    @classmethod
    def create(cls, path: Path, fill: Callable[[Repository], None]) -> Repository:
        """Make a repository and have its branch filled; it gets its name only when it is whole.

        Raises WrongUsage if the place is taken, Unavailable if it cannot be written.
        """
        if path.exists() and (not path.is_dir() or any(path.iterdir())):
            raise WrongUsage(f"{path} exists already and is not empty")
        for folder in path.resolve().parents:
            if is_repository(folder):
                raise WrongUsage(
                    f"{path} lies in the vault {folder}", hint="name a folder elsewhere"
                )
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            draft = Path(tempfile.mkdtemp(prefix=f".{path.name}.", dir=path.parent))
        except OSError as error:
            raise Unavailable(f"no vault can be made at {path}: {error.strerror}") from error
        try:
            repository = cls(draft)
            repository.git.run("init", "--quiet", "--bare", "--initial-branch=main", "--template=")
            with repository:
                fill(repository)
            draft.chmod(0o777 & ~_umask())
            if path.exists():
                path.rmdir()
            draft.rename(path)
        except OSError as error:
            raise Unavailable(f"no vault can be made at {path}: {error.strerror}") from error
        finally:
            shutil.rmtree(draft, ignore_errors=True)
        return cls(path)

    def close(self) -> None:
        """End the git processes that serve this repository."""
        self.git.close()

    def __enter__(self) -> Repository:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def tip(self) -> str:
        """Commit id of the branch. Raises Damaged when it cannot be read."""
        stored = self.object(BRANCH)  # by the process that files are read with: one less to start
        commit = self.resolve(BRANCH) if stored is None else stored.id
        if commit is None:
            raise Damaged(
                "the vault's branch 'main' cannot be read", file=str(self.path), hint=SEE_VERIFY
            )
        return commit

    def resolve(self, name: str) -> str | None:
        """Full id of the object that a name stands for, None where there is none."""
        header = self.git.object_header(name)
        return None if header is None else header.id

    def read(self, commit: str, path: str) -> bytes | None:
        """Content of a file in a commit, None where there is none."""
        return self.blob(f"{commit}:{path}")

    def check_absent(self, commit: str, path: str) -> None:
        """See that what was not found is not there, and does not only fail to be read.

        Raises Damaged where the folder above lists it, or cannot be read itself.
        """
        folder, _, file = path.rpartition("/")
        tree = self._content(f"{commit}:{folder}", "tree")
        if tree is not None:
            if f" {file}\0".encode() not in tree:  # mostly so, and quicker than to read it
                return
            if all(entry.path != path for entry in read_tree(tree, folder)):
                return
        elif folder:
            self.check_absent(commit, folder)
            return
        elif self.resolve(commit) is None:  # there is no such commit at all
            return
        raise Damaged("git cannot read this", file=f"{commit[:10]}:{path}", hint=SEE_VERIFY)

    def blob(self, name: str) -> bytes | None:
        """Content of a blob, None where there is none."""
        return self._content(name, "blob")

    def object(self, name: str) -> GitObject | None:
        """An object of any kind, None where it cannot be read."""
        return self.git.object(name)

    def _content(self, name: str, wanted: str) -> bytes | None:
        """Content of an object of the wanted kind, None where there is none or it is damaged."""
        try:
            stored = self._ahead.pop(name)
        except KeyError:  # as always, but for what is read ahead
            stored = self.git.object(name)
        return stored.content if stored is not None and stored.kind == wanted else None

    def commit_header(self, commit: str) -> CommitHeader:
        """What a commit says about itself. Raises Damaged where it cannot be read."""
        return read_commit(commit, self._content(commit, "commit"))

    def list(self, commit: str, path: str, *, recursive: bool = False) -> list[TreeEntry]:
        """What lies below a folder of a commit, "" for all; empty where there is no such folder."""
        tree = None if recursive else self._content(f"{commit}:{path}", "tree")
        if tree is not None:  # quicker than to start git for it
            return list(read_tree(tree, path))
        arguments = [
            "-z",
            *(["-r"] if recursive else []),
            commit,
            *(["--", f"{path}/"] if path else []),
        ]
        entries: list[TreeEntry] = []
        listed = self.git.outcome("ls-tree", *arguments)
        if listed.status != 0:
            raise Damaged(
                f"git cannot read this folder: {first_line(listed.complaint)}",
                file=f"{commit[:10]}:{path}", hint=SEE_VERIFY,
            )  # fmt: skip
        for line in listed.printed.split("\0"):
            if line:
                head, name = line.split("\t", 1)
                _, kind, object_id = head.split(" ")
                entries.append(TreeEntry(name, kind, object_id))
        return entries

    def setting(self, key: str) -> str | None:
        """A git setting of this repository itself, None where it has none."""
        answer = self.git.outcome("config", *self._own_settings(), "--get", key)
        return (answer.printed.strip() or None) if answer.status == 0 else None

    def keep_setting(self, key: str, value: str) -> None:
        """Write a git setting of this repository. Raises Damaged where that fails."""
        self.git.run("config", *self._own_settings(), key, value)

    def _own_settings(self) -> tuple[str, str]:
        # The file by its name: a git hook that calls us may have set another one.
        return "--file", str(self.path / "config")

    def stream(self) -> ObjectStream:
        """Read many objects one after the other: much quicker than each by itself."""
        return ObjectStream(lambda: self.git.start("cat-file", "--batch"), self.git.object)

    @contextlib.contextmanager
    def reading_ahead(self, names: Sequence[str]) -> Iterator[None]:
        """Fetch what is about to be read, as `COMMIT:PATH`; it is kept until it is, once, and no
        longer than the block.

        The commits are ids, so what the names stand for does not change meanwhile.
        """
        alike: dict[str, GitObject] = {}  # a dictionary is the same for many
        try:
            with self.stream() as objects:
                for name, stored in zip(names, objects.find(names), strict=True):
                    self._ahead[name] = stored and alike.setdefault(stored.id, stored)
            yield
        finally:
            self._ahead.clear()

    def stream_ids(self) -> ObjectStream:
        """Find what many names stand for; contents are empty."""
        return ObjectStream(
            lambda: self.git.start("cat-file", "--batch-check"),
            self.git.object_header,
            bare=True,
        )

    def start_writing(self) -> FastImport:
        """Start writing commits; nobody sees them before `advance`."""
        return FastImport(self.git)

    def advance(self, old: str | None, new: str) -> None:
        """Move the branch from one commit to another, if it still is where it was.

        Raises Unavailable if somebody moved it meanwhile or it cannot be written.
        """
        words = "update-ref", BRANCH, new, old or NOTHING
        moved = self.git.outcome(*words)
        if moved.status != 0:  # perhaps by the git of somebody who was just killed: it goes on
            self.remove_stale_locks()
            moved = self.git.outcome(*words)
        if moved.status != 0:
            raise Unavailable(
                f"the vault's branch could not be moved: {first_line(moved.complaint)}",
                hint="nothing was changed; try again",
            )

    def remove_stale_locks(self) -> None:
        """Remove lock files of git processes that were stopped by force, as by a power cut.

        Call it while nobody else of us writes: other git programs hold them for milliseconds.
        """
        for name in _LOCKS:
            lock = self.path / name
            if _is_stale(lock):
                with contextlib.suppress(OSError):  # git says it better
                    lock.unlink()


def _is_stale(lock: Path) -> bool:
    """Say whether a lock file is there for longer than a git command needs it."""
    try:
        before = lock.stat()
        if now().timestamp() - before.st_mtime > _LOCK_SECONDS:
            return True
        for _ in range(int(_LOCK_SECONDS * 20)):
            sleep(0.05)
            if lock.stat().st_ino != before.st_ino:
                return False
    except OSError:
        return False
    return True


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def commit_text(message: str, author: str) -> CommitText:
    """Text of a commit that is made now, by somebody."""
    moment = now()
    return CommitText(message, author, moment, moment)
