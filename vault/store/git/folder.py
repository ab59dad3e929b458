"""A vault's folder is data: what in it could make git run something, or read elsewhere, is refused.

Git takes orders from the folder that it works on: its file `config` names programs and further
files, others name places outside. A vault comes along on a stick or a share, so it is looked at as
text before git is started in it, and again where that file has become another one.
"""

from __future__ import annotations

import os
import re
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from vault.model.errors import Damaged, Refused, Unavailable, Unreadable
from vault.model.visible_text import visible

TRUSTED = "AXISVAULT_TRUSTED_FOLDERS"
"""Variable with folders that somebody else may own, with what PATH has between them."""
_TRUSTED_FILE = "axisvault/trusted_folders"
_ALLOWED = frozenset(
    {
        # What git writes itself where it makes or clones a bare repository, and how it is shared.
        "core.repositoryformatversion", "core.filemode", "core.bare", "core.symlinks",
        "core.ignorecase", "core.precomposeunicode", "core.logallrefupdates",
        "core.sharedrepository", "receive.denynonfastforwards", "receive.denydeletes",
        "receive.fsckobjects", "transfer.fsckobjects",
        "branch.main.remote", "branch.main.merge",
        "remote.origin.url", "remote.origin.fetch", "remote.origin.mirror", "remote.origin.tagopt",
    }
)  # fmt: skip
_OURS = "axisvault."  # axisvault.witness, and what is to come: git knows none of them
_SECTION = re.compile(r'[ \t]*\[([A-Za-z0-9.-]+)(?:[ \t]+"((?:[^"\\]|\\.)*)")?[ \t]*\][ \t]*(.*)')
_KEY = re.compile(r"[ \t]*([A-Za-z][A-Za-z0-9-]*)[ \t]*(?:=(.*))?")
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f]")
_COMMIT = re.compile("[0-9a-f]{40}")
_HEAD = re.compile(rb"ref: refs/\S+\n?|[0-9a-f]{40}\n?")
_PACKED = re.compile(r"#.*|\^?[0-9a-f]{40}|[0-9a-f]{40} refs/\S+")
_LONGEST = 1 << 16
_OUTSIDE = {
    "objects/info/alternates": "names a place outside that objects are read from",
    "objects/info/http-alternates": "names a place outside that objects are read from",
    "commondir": "names a folder outside that settings are read from",
    "config.worktree": "holds settings for git",
    "shallow": "says that the history begins later than it does",
    "info/grafts": "gives commits other parents than they have",
}
_OUT = "take it out if nobody needs it; nothing in the folder was run"
SEE_VERIFY = "axisvault verify says what to restore from where"
Seen = tuple[int, int, int, int] | None


def is_repository(folder: Path) -> bool:
    """Whether a folder is a bare repository of git's, by what lies in it."""
    return (folder / "HEAD").is_file() and (folder / "objects").is_dir()


def check_folder(folder: Path) -> None:
    """Look at a vault's folder before git is started in it.

    Raises Refused with file and line for what could make git run something or read elsewhere, and
    for a folder that somebody else owns; Damaged for settings that cannot be read.
    """
    _check_owner(folder)
    for name, what in _OUTSIDE.items():
        if _says_something(folder / name):
            raise Refused(f"this file {what}", file=str(folder / name), hint=_OUT)
    check_settings(folder / "config")


def branch_of(folder: Path, branch: str) -> str | None:
    """Where a branch of a vault's folder stands, read as text; None where it says no commit."""
    with suppress(FileNotFoundError):  # what lies there holds, whatever is packed
        try:
            own = (folder / branch).read_text("utf-8", "replace").strip()
        except NotADirectoryError:
            return None
        return own if _COMMIT.fullmatch(own) else None
    try:
        packed = (folder / "packed-refs").read_text("utf-8", "replace")
    except OSError:
        return None
    ends = (line.split(" ") for line in packed.splitlines() if line.endswith(f" {branch}"))
    return next((end[0] for end in ends if _COMMIT.fullmatch(end[0])), None)


def garbage_in_packed(folder: Path) -> int | None:
    """The first line of git's list of branches that is none of it; None where all are."""
    try:
        lines = (folder / "packed-refs").read_text("utf-8", "replace").split("\n")
    except OSError:
        return None
    numbered = enumerate(lines, 1)
    return next((number for number, line in numbered if line and not _PACKED.fullmatch(line)), None)


def why_unreadable(folder: Path, branch: str) -> Damaged:
    """The error for a vault whose branch cannot be read."""
    if not _HEAD.fullmatch((folder / "HEAD").read_bytes()[:500]):
        return Damaged("git's file is empty or garbage", file=str(folder / "HEAD"), hint=SEE_VERIFY)
    commit = branch_of(folder, branch)
    file = folder / branch
    if (line := garbage_in_packed(folder)) is not None:
        packed = str(folder / "packed-refs")
        return Damaged("git's file is garbage", file=packed, line=line, hint=SEE_VERIFY)
    if commit is None:
        what = "is empty or garbage" if file.exists() else "is gone"
        return Damaged(f"the vault's branch {what}", file=str(file), hint=SEE_VERIFY)
    return Damaged(
        f"git cannot read the vault's newest state, commit {commit[:10]}", file=str(folder),
        hint=SEE_VERIFY,
    )  # fmt: skip


@contextmanager
def view_of(folder: Path, branch: str, commit: str | None = None) -> Iterator[Path]:
    """A folder of ours that shows a branch of another one as it is now, or at a commit.

    What serves git's fetch reads the settings of the folder that it works on: it never sees those
    of the other one, nor does the branch move in this one. Raises as `check_folder`,
    Unreadable where that has no such branch.
    """
    check_folder(folder)
    commit = commit or branch_of(folder, branch)
    objects = (folder / "objects").resolve().as_posix()
    if commit is None or "\n" in objects:
        raise Unreadable("its branch says no commit", file=visible(folder.name))
    with tempfile.TemporaryDirectory(prefix="axisvault-") as name:
        view = Path(name)
        for path, content in (
            ("HEAD", f"ref: {branch}\n"),
            ("config", "[core]\n\trepositoryformatversion = 0\n\tbare = true\n"),
            ("objects/info/alternates", f"{objects}\n"),
            (branch, f"{commit}\n"),
        ):
            (view / path).parent.mkdir(parents=True, exist_ok=True)
            (view / path).write_text(content, "utf-8", newline="\n")
        yield view


def seen_settings(folder: Path) -> Seen:
    """What tells one state of a folder's settings from another; None where it has none."""
    try:
        found = (folder / "config").stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns


def check_settings(file: Path) -> None:
    """Read git's settings of a vault as text. Raises as `check_folder`."""
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            raise Refused("git's settings are no plain file", file=str(file), hint=_OUT)
        with file.open("rb") as opened:
            content = opened.read(_LONGEST + 1)
    except FileNotFoundError:
        return
    except OSError as error:
        raise Unavailable(f"the vault cannot be read: {error}") from error
    if len(content) > _LONGEST:
        raise Refused("git's settings are far too long", file=str(file), hint=_OUT)
    section = ""
    text = content.decode("utf-8", "replace").removeprefix("\ufeff")
    for number, line in enumerate(text.split("\n"), 1):
        section = _checked_line(line.removesuffix("\r"), section, file, number)


def _checked_line(line: str, section: str, file: Path, number: int) -> str:
    """The section that the next line is of; git's grammar, without what only hides a key."""
    if _CONTROL.search(line):
        raise _unreadable(file, number)
    if heading := _SECTION.fullmatch(line):
        name, sub, line = heading.groups()
        section = name.lower() if sub is None else f"{name.lower()}.{sub}"
    if not line.strip(" \t") or line.lstrip(" \t").startswith(("#", ";")):
        return section
    key = _KEY.fullmatch(line)
    if key is None or not section or line.endswith("\\"):
        raise _unreadable(file, number)
    name = f"{section}.{key[1].lower()}"
    if name not in _ALLOWED and not name.startswith(_OURS):
        raise Refused(
            f"a vault has no setting {visible(name)}: it could make git run something",
            file=str(file), line=number, hint=_OUT,
        )  # fmt: skip
    return section


def _unreadable(file: Path, number: int) -> Damaged:
    return Damaged(
        "this is no plain setting of git's", file=str(file), line=number,
        hint="a copy of the vault, or axisvault recover, has a file that is whole",
    )  # fmt: skip


def _says_something(file: Path) -> bool:
    try:
        content = file.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return False
    except PermissionError as error:
        raise Unavailable(f"the vault cannot be read: {error}") from error
    except OSError:  # a folder, say: it is not as it should be
        return True
    return any(line.strip() and not line.startswith(b"#") for line in content.splitlines())


def _check_owner(folder: Path) -> None:
    """As git does (safe.directory): a folder counts where whoever runs the program owns it."""
    owner = folder.stat().st_uid
    me = os.geteuid() if hasattr(os, "geteuid") else owner
    # Somebody who became root by sudo is still the owner of what is his; from git's setup.c.
    sudo = os.environ.get("SUDO_UID", "") if me == 0 else ""
    if owner == me or str(owner) == sudo or _is_trusted(folder):
        return
    raise Refused(
        f"the vault at {folder} belongs to another user of this computer (number {owner}), who "
        "could have put anything into it",
        hint=f"if you trust it, add a line with {folder.resolve()} to {trusted_file()}, or put it "
        f"into ${TRUSTED}",
    )


def trusted_file() -> Path:
    """File of this user with folders that somebody else may own, one a line; `*` is any."""
    given = os.environ.get("XDG_CONFIG_HOME", "")
    home = Path(given) if Path(given).is_absolute() else Path("~/.config").expanduser()
    return home / _TRUSTED_FILE


def _is_trusted(folder: Path) -> bool:
    lines = os.environ.get(TRUSTED, "").split(os.pathsep)
    with suppress(OSError, UnicodeDecodeError):
        lines += trusted_file().read_text("utf-8").splitlines()
    for line in map(str.strip, lines):
        if line == "*":
            return True
        path = Path(line).expanduser() if line and not line.startswith("#") else None
        if path is not None and path.is_absolute() and path.resolve() == folder.resolve():
            return True
    return False
