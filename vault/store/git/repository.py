"""All git of the vault: a bare repository, read by object and moved by compare-and-swap."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from subprocess import PIPE, Popen
from time import sleep
from typing import IO, Any, TypeVar

# GitPython shall not stop the program where git is missing: `Repository` says it better.
os.environ.setdefault("GIT_PYTHON_REFRESH", "quiet")

from git import Git
from git.exc import GitCommandError, GitCommandNotFound

from vault.model.errors import Damaged, Unavailable, WrongUsage
from vault.store.clock import now
from vault.store.git.fast_import import INCOMING, NOTHING, CommitText, FastImport
from vault.store.git.object_stream import Found, ObjectStream
from vault.store.git.objects import CommitHeader, Logged, TreeEntry, read_commit
from vault.store.proof import witness

Answer = TypeVar("Answer")

BRANCH = "refs/heads/main"
# Everything that a reference will point to is on the medium before the reference moves.
_SETTINGS = {
    "core.fsync": "committed,loose-object,pack-metadata,reference",
    "core.fsyncMethod": "batch",
    "core.quotePath": "false",
    "fastimport.unpackLimit": "1",  # one pack is written and synced quicker than nine files
    "pack.threads": "0",
    "repack.writeBitmaps": "false",
    "core.packedGitWindowSize": "1m",  # else git keeps every pack it reads in memory
    "core.packedGitLimit": "32m",
    "pack.deltaCacheSize": "16m",
    "pack.windowMemory": "64m",
    "gc.auto": "0",
}
# What a user prefers elsewhere (the look of logs, signing, templates) must not change what we read.
_PREFERENCES = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
_INHERITED = (
    "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_INDEX_VERSION", "GIT_OBJECT_DIRECTORY",
    "GIT_ALTERNATE_OBJECT_DIRECTORIES", "GIT_COMMON_DIR", "GIT_NAMESPACE", "GIT_PREFIX",
    "GIT_QUARANTINE_PATH", "GIT_SHALLOW_FILE", "GIT_GRAFT_FILE", "GIT_REPLACE_REF_BASE",
    "GIT_NO_REPLACE_OBJECTS", "GIT_CONFIG", "GIT_CONFIG_PARAMETERS", "GIT_DEFAULT_HASH",
    "GIT_LITERAL_PATHSPECS", "GIT_GLOB_PATHSPECS", "GIT_NOGLOB_PATHSPECS", "GIT_ICASE_PATHSPECS",
    "GIT_TEMPLATE_DIR", "GIT_IMPLICIT_WORK_TREE", "GIT_EXTERNAL_DIFF", "GIT_DIFF_OPTS",
)  # fmt: skip
_LOCKS = ("HEAD.lock", "packed-refs.lock", f"{BRANCH}.lock", f"{INCOMING}.lock")
_LOCK_SECONDS = 3.0


class Repository:
    """A vault's git repository. Close it when done: git helper processes stay open with it."""

    def __init__(self, path: Path) -> None:
        self.path = path.resolve()
        self._git: Any = Git(str(self.path))
        settings = {"GIT_CONFIG_COUNT": str(len(_SETTINGS))}
        for number, (key, value) in enumerate(_SETTINGS.items()):
            settings |= {f"GIT_CONFIG_KEY_{number}": key, f"GIT_CONFIG_VALUE_{number}": value}
        for name in _INHERITED:  # set when we are called from a git hook
            os.environ.pop(name, None)
        self._git.update_environment(GIT_DIR=str(self.path), **_PREFERENCES, **settings)

    @classmethod
    def open(cls, path: Path) -> Repository:
        """Open an existing vault.

        Raises WrongUsage where there is none, Unavailable where it may not be read.
        """
        hint = "make one with: axisvault create DIR --site NAME"
        try:
            if not path.exists():
                raise WrongUsage(f"there is no vault at {path}", hint=hint)
            if not (path / "HEAD").is_file() or not (path / "objects").is_dir():
                raise WrongUsage(f"{path} is no vault", hint=hint)
        except PermissionError as error:
            raise Unavailable(f"the vault cannot be read: {error}") from error
        except OSError as error:
            raise WrongUsage(f"there is no vault at {path}: {error.strerror}") from error
        repository = cls(path)
        try:
            if repository.read(BRANCH, "vault.yaml") is None:
                raise WrongUsage(f"{path} is a git repository, but no vault", hint=hint)
        except BaseException:
            repository.close()
            raise
        return repository

    @classmethod
    def create(cls, path: Path, filled: Callable[[Repository], str]) -> Repository:
        """Make a vault of what fills it and says its tip; it gets its name only when it is whole.

        Raises WrongUsage if the place is taken, Unavailable if it cannot be written.
        """
        if path.exists() and (not path.is_dir() or any(path.iterdir())):
            raise WrongUsage(f"{path} exists already and is not empty")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            draft = Path(tempfile.mkdtemp(prefix=f".{path.name}.", dir=path.parent))
        except OSError as error:
            raise Unavailable(f"no vault can be made at {path}: {error.strerror}") from error
        try:
            repository = cls(draft)
            repository.run("init", "--quiet", "--bare", "--initial-branch=main", "--template=")
            with repository:
                repository.advance(None, filled(repository))
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
        self._git.clear_cache()

    def __enter__(self) -> Repository:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def tip(self) -> str:
        """Commit id of the branch. Raises Damaged when it cannot be read."""
        found = self._object(BRANCH)  # by the process that files are read with: one less to start
        commit = self.resolve(BRANCH) if found is None else found[0]
        if commit is None:
            raise Damaged("the vault's branch 'main' cannot be read", file=str(self.path))
        return commit

    def resolve(self, name: str) -> str | None:
        """Full id of the object that a name stands for, None where there is none."""
        found = self._ask(self._git.get_object_header, name)
        return None if found is None else _word(found[0])

    def read(self, commit: str, path: str) -> bytes | None:
        """Content of a file in a commit, None where there is none."""
        return self.object(f"{commit}:{path}")

    def object(self, name: str) -> bytes | None:
        """Content of a blob, None where there is none."""
        return self._content(name, "blob")

    def raw(self, name: str) -> tuple[str, bytes] | None:
        """Kind and content of any object, None where it cannot be read."""
        found = self._object(name)
        return None if found is None else found[1:]

    def _object(self, name: str) -> Found | None:
        found = self._ask(self._git.get_object_data, name)
        if found is None:
            return None
        if len(found[3]) != found[2]:  # git gave up in the middle
            self.close()
            return None
        return _word(found[0]), _word(found[1]), bytes(found[3])

    def _header(self, name: str) -> Found | None:
        found = self._ask(self._git.get_object_header, name)
        return None if found is None else (_word(found[0]), _word(found[1]), b"")

    def _content(self, name: str, wanted: str) -> bytes | None:
        """Content of an object of the wanted kind, None where there is none or it is damaged."""
        found = self._object(name)
        return found[2] if found is not None and found[1] == wanted else None

    def _ask(self, question: Callable[[str], Answer], name: str) -> Answer | None:
        """Ask a serving git process; None where it has no answer.

        A damaged object ends that process: another one answers the next question.
        """
        for _ in range(2):
            try:
                return question(name)
            except GitCommandNotFound as error:
                raise Unavailable("the program git is not installed") from error
            except OSError:
                self.close()
            except ValueError as error:
                if "SHA is empty" not in str(error):  # else it ended without an answer
                    return None
                self.close()
        return None

    def commit_header(self, commit: str) -> CommitHeader:
        """What a commit says about itself. Raises Damaged where it cannot be read."""
        return read_commit(commit, self._content(commit, "commit"))

    def list(self, commit: str, path: str, *, recursive: bool = False) -> list[TreeEntry]:
        """What lies below a folder of a commit, "" for all; empty where there is no such folder."""
        tree = None if recursive else self._content(f"{commit}:{path}", "tree")
        if tree is not None:  # quicker than to start git for it
            return list(_tree_entries(tree, path))
        arguments = [
            "-z",
            *(["-r"] if recursive else []),
            commit,
            *(["--", f"{path}/"] if path else []),
        ]
        found: list[TreeEntry] = []
        for line in self.run("ls-tree", *arguments).split("\0"):
            if line:
                head, name = line.split("\t", 1)
                _, kind, object_id = head.split(" ")
                found.append(TreeEntry(name, kind, object_id))
        return found

    def log(self, *paths: str) -> Iterator[Logged]:
        """Commits that changed any of some paths, oldest first; merges are none of them."""
        form = "--format=%H%x00%cI%x00%an <%ae>%x00%s"
        sides = ("--full-history", "--no-merges")  # else what a merge did not keep is left out
        for line in self.lines("log", "--reverse", *sides, form, BRANCH, "--", *paths):
            commit, moment, by, subject = line.split("\0", 3)
            yield Logged(commit, datetime.fromisoformat(moment), by, subject)

    def run(self, *arguments: str, given: IO[bytes] | None = None) -> str:
        """Run a git command to its end, on a file's content if given, and return what it prints.

        Raises Damaged with git's first line where it fails.
        """
        status, printed, complaint = self._run(arguments, given)
        if status != 0:
            raise Damaged(f"git {arguments[0]} failed: {_first_line(complaint)}")
        return printed

    def outcome(self, *arguments: str) -> tuple[int, str]:
        """Run a git command; return its status and everything it printed."""
        status, printed, complaint = self._run(arguments)
        return status, printed + complaint

    def _run(
        self, arguments: tuple[str, ...], given: IO[bytes] | None = None
    ) -> tuple[int, str, str]:
        try:
            status, printed, complaint = self._git.execute(
                ["git", *arguments],
                istream=given,
                with_extended_output=True,
                with_exceptions=False,
                strip_newline_in_stdout=False,
            )
        except GitCommandNotFound as error:
            raise Unavailable("the program git is not installed") from error
        return int(status), str(printed), str(complaint)

    def lines(self, *arguments: str) -> Iterator[str]:
        """Run a git command and give its output line by line, as it comes."""
        process = self._git.execute(["git", *arguments], as_process=True)
        for line in process.stdout:
            yield line.decode("utf-8", "replace").rstrip("\n")
        try:
            process.wait()
        except GitCommandError as error:
            complaint = _first_line(str(error.stderr).strip())
            raise Damaged(f"git {arguments[0]} failed: {complaint}") from error

    def start(self, *arguments: str) -> Popen[bytes]:
        """Start a git command that is written to and read from while it runs."""
        try:
            guarded = self._git.execute(["git", *arguments], istream=PIPE, as_process=True)
        except GitCommandNotFound as error:
            raise Unavailable("the program git is not installed") from error
        process: Popen[bytes] = guarded.proc
        guarded.proc = None  # else it is killed once nobody knows it by this name
        return process

    def stream(self) -> ObjectStream:
        """Read many objects one after the other: much quicker than each by itself."""
        return ObjectStream(lambda: self.start("cat-file", "--batch"), self._object)

    def stream_ids(self) -> ObjectStream:
        """Find what many names stand for; contents are empty."""
        return ObjectStream(
            lambda: self.start("cat-file", "--batch-check"), self._header, bare=True
        )

    def start_import(self) -> Any:
        """Start git's bulk writer. For `FastImport`."""
        # Housekeeping finds better differences than the one to the file written just before.
        command = [
            "git", "-c", "pack.compression=1", "fast-import", "--depth=0",
            "--quiet", "--force", "--done", "--date-format=raw",
        ]  # fmt: skip
        try:
            return self._git.execute(command, istream=PIPE, as_process=True)
        except GitCommandNotFound as error:
            raise Unavailable("the program git is not installed") from error

    def write_commit(self, text: bytes) -> str:
        """Write a commit as it is given; returns its id."""
        with tempfile.TemporaryFile() as file:
            file.write(text)
            file.seek(0)
            return self.run("hash-object", "-t", "commit", "-w", "--stdin", given=file).strip()

    def start_writing(self) -> FastImport:
        """Start writing commits; nobody sees them before `advance`."""
        return FastImport(self)

    def advance(self, old: str | None, new: str) -> None:
        """Move the branch from one commit to another, if it still is where it was; witness it.

        Raises Unavailable if somebody moved it meanwhile or it cannot be written.
        """
        status, printed = self.outcome("update-ref", BRANCH, new, old or NOTHING)
        if status != 0:
            raise Unavailable(
                f"the vault's branch could not be moved: {_first_line(printed)}",
                hint="nothing was changed; try again",
            )
        witness.remember(self, new)

    def is_ancestor(self, old: str, new: str) -> bool:
        """Say whether one commit lies in the history of another."""
        return self.outcome("merge-base", "--is-ancestor", old, new)[0] == 0

    def put_away_locks(self) -> None:
        """Remove lock files of git processes that were stopped by force, as by a power cut.

        Call it while nobody else of us writes: other git programs hold them for milliseconds.
        """
        for name in _LOCKS:
            lock = self.path / name
            if _is_left_behind(lock):
                with contextlib.suppress(OSError):  # git says it better
                    lock.unlink()


def _tree_entries(tree: bytes, path: str) -> Iterator[TreeEntry]:
    """Read a tree object: mode, blank, name, NUL, and the 20 bytes of an id, again and again."""
    at = 0
    while at < len(tree):
        end = tree.index(b"\0", at)
        mode, name = tree[at:end].split(b" ", 1)
        kind = "tree" if mode == b"40000" else "blob"
        yield TreeEntry(
            f"{path}/{name.decode('utf-8', 'replace')}", kind, tree[end + 1 : end + 21].hex()
        )
        at = end + 21


def _is_left_behind(lock: Path) -> bool:
    """Say whether a lock file is there for longer than a git command needs it."""
    try:
        found = lock.stat()
        if now().timestamp() - found.st_mtime > _LOCK_SECONDS:
            return True
        for _ in range(int(_LOCK_SECONDS * 20)):
            sleep(0.05)
            if lock.stat().st_ino != found.st_ino:
                return False
    except OSError:
        return False
    return True


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def _word(answer: bytes | str) -> str:
    """GitPython says `str` and gives bytes."""
    return answer.decode("ascii") if isinstance(answer, bytes) else answer


def _first_line(printed: str) -> str:
    return next((line for line in printed.splitlines() if line.strip()), "no reason given")


def commit_text(message: str, author: str) -> CommitText:
    """Text of a commit that is made now, by somebody."""
    moment = now()
    return CommitText(message, author, moment, moment)


def git_user() -> str | None:
    """`Name <mail>` of the user of this computer by git's settings, None where they say nothing."""
    found = []
    for key in ("user.name", "user.email"):
        try:
            found.append(str(Git().execute(["git", "config", "--get", key])).strip())
        except (GitCommandError, GitCommandNotFound):
            found.append("")
    return f"{found[0]} <{found[1]}>" if found[0] else None
