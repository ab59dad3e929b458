"""The program git, run on one repository with our settings, whatever its user prefers elsewhere.

Only modules of this package run it; everybody else asks what those have a name for.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from subprocess import PIPE, Popen
from typing import IO, Any, NamedTuple, TypeVar

# GitPython shall not stop the program where git is missing: what is below says it better.
os.environ.setdefault("GIT_PYTHON_REFRESH", "quiet")

from git import Git
from git.exc import GitCommandError, GitCommandNotFound

from vault.model.errors import Damaged, Unavailable
from vault.store.git.folder import check_folder, seen_settings
from vault.store.git.objects import GitObject

Answer = TypeVar("Answer")

_NONE = "false"  # signatures are OpenSSH's; no other program is asked
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
    # A vault's folder is data: nothing in it runs, whatever it says (vault/store/git/folder).
    "core.hooksPath": os.devnull,
    "core.fsmonitor": "false",
    "gpg.program": _NONE,
    "gpg.openpgp.program": _NONE,
    "gpg.x509.program": _NONE,
    "gpg.ssh.program": "ssh-keygen",
    "protocol.ext.allow": "never",
}
# What a user prefers elsewhere (the look of logs, signing, templates) must not change what we read.
# Nor may references in the vault that put other objects in their place, or have git fetch what is
# missing from elsewhere.
_PREFERENCES = {
    "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1", "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_NO_LAZY_FETCH": "1", "GIT_DEFAULT_HASH": "sha1",
    "GIT_DEFAULT_REF_FORMAT": "files",
}  # fmt: skip
_INHERITED = (
    "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_INDEX_VERSION", "GIT_OBJECT_DIRECTORY",
    "GIT_ALTERNATE_OBJECT_DIRECTORIES", "GIT_COMMON_DIR", "GIT_NAMESPACE", "GIT_PREFIX",
    "GIT_QUARANTINE_PATH", "GIT_SHALLOW_FILE", "GIT_GRAFT_FILE", "GIT_REPLACE_REF_BASE",
    "GIT_NO_REPLACE_OBJECTS", "GIT_CONFIG", "GIT_CONFIG_PARAMETERS", "GIT_DEFAULT_HASH",
    "GIT_LITERAL_PATHSPECS", "GIT_GLOB_PATHSPECS", "GIT_NOGLOB_PATHSPECS", "GIT_ICASE_PATHSPECS",
    "GIT_ALLOW_PROTOCOL", "GIT_PROTOCOL_FROM_USER", "GIT_ATTR_SOURCE", "GIT_CONFIG_SYSTEM",
    "GIT_TEMPLATE_DIR", "GIT_IMPLICIT_WORK_TREE", "GIT_EXTERNAL_DIFF", "GIT_DIFF_OPTS",
)  # fmt: skip
_NOT_INSTALLED = "the program git is not installed"


class Outcome(NamedTuple):
    """How a command ended: its exit status, and what it wrote to standard output and error."""

    status: int
    printed: str
    complaint: str


class GitProgram:
    """Runs git commands. Close it when done: two git processes stay to answer for objects.

    Everything here raises Unavailable where git is not installed, Refused where the folder's own
    settings could make it run something. Whoever makes one has looked at those (`check_folder`).
    """

    def __init__(self, folder: Path) -> None:
        self._git: Any = Git(str(folder))
        self._folder, self._seen = folder, seen_settings(folder)
        settings = {"GIT_CONFIG_COUNT": str(len(_SETTINGS))}
        for number, (key, value) in enumerate(_SETTINGS.items()):
            settings |= {f"GIT_CONFIG_KEY_{number}": key, f"GIT_CONFIG_VALUE_{number}": value}
        for name in _INHERITED:  # set when we are called from a git hook
            os.environ.pop(name, None)
        self._git.update_environment(GIT_DIR=str(folder), **_PREFERENCES, **settings)

    def _check(self) -> None:
        """Look at the vault's settings where they are not those that were looked at."""
        seen = seen_settings(self._folder)
        if seen != self._seen:
            check_folder(self._folder)
            self._seen = seen

    def close(self) -> None:
        """End the processes that answer for objects."""
        self._git.clear_cache()

    def run(self, *arguments: str, given: IO[bytes] | None = None) -> str:
        """Run a command to its end, on a file's content if given, and return what it prints.

        Raises Damaged with git's first line where it fails.
        """
        done = self.outcome(*arguments, given=given)
        if done.status != 0:
            raise Damaged(f"git {arguments[0]} failed: {first_line(done.complaint)}")
        return done.printed

    def outcome(self, *arguments: str, given: IO[bytes] | None = None) -> Outcome:
        """Run a command to its end, where its failure is an answer too."""
        self._check()
        try:
            status, printed, complaint = self._git.execute(
                ["git", *arguments],
                istream=given,
                with_extended_output=True,
                with_exceptions=False,
                strip_newline_in_stdout=False,
            )
        except GitCommandNotFound as error:
            raise Unavailable(_NOT_INSTALLED) from error
        return Outcome(int(status), str(printed), str(complaint))

    def lines(self, *arguments: str) -> Iterator[str]:
        """Run a command and give its output line by line, as it comes. Raises Damaged."""
        self._check()
        process = self._git.execute(["git", *arguments], as_process=True)
        for line in process.stdout:
            yield line.decode("utf-8", "replace").rstrip("\n")
        try:
            process.wait()
        except GitCommandError as error:
            said = str(error.stderr).strip().removeprefix("stderr: '").removesuffix("'")
            complaint = first_line(said)
            raise Damaged(f"git {arguments[0]} failed: {complaint}") from error

    def start(self, *arguments: str) -> Popen[bytes]:
        """Start a command that is written to and read from while it runs."""
        self._check()
        try:
            guarded = self._git.execute(["git", *arguments], istream=PIPE, as_process=True)
        except GitCommandNotFound as error:
            raise Unavailable(_NOT_INSTALLED) from error
        process: Popen[bytes] = guarded.proc
        guarded.proc = None  # else it is killed once nobody knows it by this name
        return process

    def object_header(self, name: str) -> GitObject | None:
        """Id and kind of the object that a name stands for, None where there is none."""
        answer = self._ask("cat_file_header", self._git.get_object_header, name)
        return None if answer is None else GitObject(_text(answer[0]), _text(answer[1]), b"")

    def object(self, name: str) -> GitObject | None:
        """The object that a name stands for, None where there is none or it is damaged."""
        answer = self._ask("cat_file_all", self._git.get_object_data, name)
        if answer is None:
            return None
        if len(answer[3]) != answer[2]:  # git gave up in the middle
            self.close()
            return None
        return GitObject(_text(answer[0]), _text(answer[1]), bytes(answer[3]))

    def _ask(self, process: str, question: Callable[[str], Answer], name: str) -> Answer | None:
        """Ask the serving git process of that name; None where it has no answer.

        A damaged object ends that process: another one answers the next question. A name of more
        than one line would be several questions, and its answers those to later ones.
        """
        if "\n" in name or "\0" in name:
            return None
        for _ in range(2):
            if getattr(self._git, process) is None:
                self._check()  # else what answers has read its settings long ago
            try:
                return question(name)
            except GitCommandNotFound as error:
                raise Unavailable(_NOT_INSTALLED) from error
            except OSError:
                self.close()
            except ValueError as error:
                if "SHA is empty" not in str(error):  # else it ended without an answer
                    return None
                self.close()
        return None


def user_setting(key: str) -> str:
    """A git setting of the user of this computer, empty where there is none."""
    try:
        return str(Git().execute(["git", "config", "--get", key])).strip()
    except (GitCommandError, GitCommandNotFound):
        return ""


def first_line(printed: str) -> str:
    """The first line with something in it: what git complains about."""
    return next((line for line in printed.splitlines() if line.strip()), "no reason given")


def _text(answer: bytes | str) -> str:
    """GitPython promises `str` and gives bytes."""
    return answer.decode("ascii") if isinstance(answer, bytes) else answer
