"""Moving a history between copies of a vault: folders, git addresses, bundle files on a stick.

Plain git does it, so that the other side can be any git server. Nothing that was fetched is part of
the vault before its branch moves.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import unquote

from vault.model.errors import Damaged, Refused, Unavailable, Unreadable, WrongUsage
from vault.model.visible_text import visible
from vault.model.wording import plural
from vault.store.git.folder import check_folder, is_repository, view_of
from vault.store.git.history import is_ancestor
from vault.store.git.repository import BRANCH, Repository
from vault.store.local.lock import WAIT_SECONDS, holding

BUNDLE = ".bundle"
MOST_OBJECT = 64 * 1024 * 1024
"""Bytes of a file of a vault: an export has 32 MiB at most, its parameters about as much."""

_FETCHED, _PINNED = "refs/axisvault/there", "refs/axisvault/held"
_ADDRESS = re.compile(r"(?:(?:ssh|https?|git|file)://|[\w.-]+@?[\w.-]+:(?!\\)).+")
_SCHEME = re.compile(r"^\w+://")
_PEOPLE = re.compile(r"[^\s/@']+@")  # a name, or name and password, before a host
# What git says where it cannot write what it fetched: the words of ENOSPC and EDQUOT (glibc), and
# its own (from memory).
_NO_ROOM = ("No space left on device", "Disk quota exceeded", "Out of diskspace")
# Whatever git can reach, but no helper program that an address could name.
_KINDS = ("file", "ssh", "http", "https", "git")
_SETTINGS = (
    "fetch.fsckObjects=true", "fetch.unpackLimit=1", "protocol.allow=never",
    *(f"protocol.{kind}.allow=always" for kind in _KINDS),
)  # fmt: skip
_SAFELY = tuple(word for setting in _SETTINGS for word in ("-c", setting))
_FILE = "file://"
# A folder on this computer is data too: what it brings along does not run when it is given to. Who
# owns it was looked at.
_RECEIVE = f"git -c core.hooksPath={os.devnull} -c safe.directory=* receive-pack"


@dataclass(frozen=True, slots=True)
class Partner:
    """Another copy of a vault. `kind` is `vault`, `bundle` or `address`; `name` is for people."""

    kind: str
    place: str
    name: str

    @property
    def path(self) -> Path:
        """Where it lies; not for an address."""
        return Path(self.place)


def partner_at(text: str, *, new_bundle: bool = False) -> Partner:
    """Tell what somebody means. Raises WrongUsage for what is no place of a vault.

    With `new_bundle` a file that ends in .bundle need not be there yet.
    """
    path = Path(text)
    if path.is_dir():
        if not is_repository(path):
            hint = f"name a file in it: {path / f'site{BUNDLE}'}"
            raise WrongUsage(f"{path} is no vault", hint=hint)
        return Partner("vault", str(path.resolve()), visible(path.resolve().name))
    if path.is_file() or (new_bundle and path.suffix == BUNDLE):
        return Partner("bundle", str(path.resolve()), visible(path.name))
    if _ADDRESS.fullmatch(text) and not text.startswith("-"):
        return Partner("address", text, visible(_PEOPLE.sub("", _SCHEME.sub("", text))))
    raise WrongUsage(
        f"there is no vault and no bundle at {text}",
        hint=f"a folder, a file ending in {BUNDLE}, or an address that git knows (ssh://…)",
    )


@contextmanager
def fetched(repository: Repository, partner: Partner) -> Iterator[str]:
    """Have everything of the partner's branch here, under a name that goes with the block.

    Gives its tip. Raises Unreadable where it cannot be read, Unavailable where it is not reached,
    or there is no room for it here.
    """
    state = repository.path / "axisvault"
    with holding(state / "sync.lock", WAIT_SECONDS, "taking from another vault"):
        with _fetched_from(partner) as place:
            fetch = repository.git.outcome(
                *_SAFELY, "fetch", "--quiet", "--no-tags", "--no-write-fetch-head",
                "--no-auto-maintenance", "--", place, f"+{BRANCH}:{_FETCHED}",
            )  # fmt: skip
        if fetch.status != 0:
            if any(reason in fetch.complaint for reason in _NO_ROOM):
                raise Unavailable(
                    "the vault cannot be written: there is no room on its disk",
                    hint="nothing was changed",
                )
            raise _failed(partner, fetch.complaint)
        tip = repository.resolve(_FETCHED)
        try:
            if tip is None:
                raise Damaged("what was fetched cannot be read", file=partner.name)
            _check_sizes(repository, partner, tip)
            yield tip
        finally:
            for reference in (_FETCHED, _PINNED):
                repository.git.outcome("update-ref", "-d", reference)


@contextmanager
def _fetched_from(partner: Partner) -> Iterator[str]:
    """What to name to git: of a folder no more than its branch and objects is shown to it."""
    folder = _folder_of(partner)
    if folder is None:
        yield partner.place
        return
    with view_of(folder, BRANCH) as view:
        yield str(view)


def _folder_of(partner: Partner) -> Path | None:
    """The folder on this computer that a partner is, None for a bundle or another computer.

    Raises Unavailable where an address names a folder that holds no repository.
    """
    if partner.kind == "vault":
        return partner.path
    if partner.kind != "address" or not partner.place.startswith(_FILE):
        return None
    place = Path(unquote(partner.place.removeprefix(_FILE)))
    # Where git would look; from memory of its path.c (enter_repo).
    for folder in (place / ".git", place, Path(f"{place}.git")):
        if is_repository(folder):
            return folder
    raise Unavailable(f"{partner.name} cannot be reached: there is no repository")


def _check_sizes(repository: Repository, partner: Partner, tip: str) -> None:
    """Ask git how large each new object is before one is read: a small bundle may hold huge ones.

    Raises Unreadable.
    """
    ours = repository.resolve(BRANCH)
    known = [] if ours is None else ["--not", ours]
    with tempfile.TemporaryFile() as names:
        for name in repository.git.lines("rev-list", "--objects", "--no-object-names", tip, *known):
            names.write(f"{name}\n".encode())
        names.seek(0)
        sizes = repository.git.run("cat-file", "--batch-check=%(objectsize)", given=names).split()
    largest = max((int(size) for size in sizes if size.isdecimal()), default=0)
    if largest > MOST_OBJECT:
        raise Unreadable(
            f"it holds something of {plural(largest, 'byte')}; "
            f"up to {plural(MOST_OBJECT, 'byte')} are read",
            file=partner.name, hint="nothing was changed; this is no copy of a vault",
        )  # fmt: skip


def pin(repository: Repository, commit: str) -> None:
    """Keep a commit that nothing points to yet from being packed away. Within `fetched`."""
    repository.git.run("update-ref", _PINNED, commit)


def _failed(partner: Partner, complaint: str) -> Unavailable | Unreadable:
    complaint = _PEOPLE.sub("", complaint.replace(partner.place, partner.name))
    lines = [line.strip() for line in complaint.splitlines()]
    lines = [line for line in lines if line]
    errors = [line for line in lines if line.startswith(("fatal:", "error:", "ssh:"))] or lines
    reason = visible(" ".join(errors[:2]) or "git gives no reason")
    if partner.kind == "address":
        return Unavailable(
            f"{partner.name} cannot be reached: {reason}", hint="nothing was changed"
        )
    hint = "nothing was changed; copy the file again" if partner.kind == "bundle" else None
    return Unreadable(
        f"it cannot be read as a copy of a vault: {reason}", file=partner.name, hint=hint
    )


def push(repository: Repository, partner: Partner, tip: str) -> None:
    """Move the branch at an address forward to a commit.

    Raises PartnerIsAhead where it has something that is not here, Unavailable where it is not
    reached.
    """
    folder = _folder_of(partner)
    if folder is not None:
        check_folder(folder)
    ours = (f"--receive-pack={_RECEIVE}",) if folder is not None else ()
    pushed = repository.git.outcome(
        *_SAFELY, "push", "--quiet", *ours, "--", partner.place, f"{tip}:{BRANCH}"
    )
    if pushed.status == 0:
        return
    if "non-fast-forward" in pushed.complaint or "fetch first" in pushed.complaint:
        raise PartnerIsAhead(partner)
    raise _failed(partner, pushed.complaint)


class PartnerIsAhead(Refused):
    """The other side has to be taken from first."""

    def __init__(self, partner: Partner) -> None:
        super().__init__(
            f"{partner.name} has something that is not here",
            hint="take that first: axisvault sync take",
        )


def bundle_into(path: Path, repository: Repository, tip: str) -> None:
    """Write the history of a commit into one file that git clones and fetches from.

    Raises Damaged.
    """
    # The branch may move meanwhile, and git leaves out one that did.
    with view_of(repository.path, BRANCH, tip) as view, Repository(view) as pinned:
        # HEAD makes the bundle clone without a warning.
        pinned.git.run("bundle", "create", "--quiet", str(path.resolve()), "HEAD", "main")


def write_bundle(repository: Repository, path: Path, tip: str) -> None:
    """Write the history of a commit into one file, whole or not at all.

    An older bundle of it is replaced. Raises Refused for a file that is something else,
    PartnerIsAhead for one that has something that is not here.
    """
    if path.exists():
        _check_older(repository, path)
    draft: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
        draft = Path(name)
        os.close(handle)
        bundle_into(draft, repository, tip)
        with draft.open("rb+") as file:
            os.fsync(file.fileno())
        draft.chmod(0o644)
        draft.replace(path)
    except (OSError, Damaged) as error:
        raise Unavailable(f"{path} cannot be written: {error}") from error
    finally:
        if draft is not None:
            with suppress(OSError):
                draft.unlink(missing_ok=True)


def _check_older(repository: Repository, path: Path) -> None:
    partner = partner_at(str(path))
    listed = repository.git.outcome("bundle", "list-heads", str(path.resolve()), BRANCH)
    heads = listed.printed.split()
    tip = heads[0] if listed.status == 0 and heads else None
    if tip is None:
        raise Refused(f"{path} is there already, and no bundle of a vault", hint="name a new file")
    known = repository.resolve(f"{tip}^{{commit}}")
    if known is None or not is_ancestor(repository, known, BRANCH):
        raise PartnerIsAhead(partner)
