"""The folder that exports are dropped into: what lies there, where it belongs, where it goes."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

from vault.jobs.intake.planned import Planned, plan_file
from vault.jobs.intake.visit import parse_visit
from vault.jobs.watch.settling import Stamp
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.names import Address
from vault.model.visible_text import escaped
from vault.model.watch_rules import WatchRules
from vault.store.clock import now, time_text
from vault.store.files.edited_files import read_watch_rules
from vault.store.files.layout import CONTROLLER
from vault.store.files.snapshot_text import digest

DONE, REFUSED, RULES = "done", "refused", "watch.yaml"
REASON = ".reason.txt"
# What programs call a file that they have not finished, or keep for themselves (common practice,
# no source).
_UNFINISHED = re.compile(
    r"\..*|~\$.*|.*~|.*\.(?:part|partial|tmp|temp|crdownload|download|filepart|opdownload|swp|lock)"
    r"|thumbs\.db|desktop\.ini",
    re.IGNORECASE | re.DOTALL,
)
_KEPT_FOLDERS = re.compile(
    r"[.@$].*|#recycle|lost\+found|system volume information", re.IGNORECASE | re.DOTALL
)
_LONGEST_NAME = 255 - len("-9999") - len(REASON)  # bytes, on nearly every file system

Note = Callable[[str], None]


class DropFolder:
    """A watched folder. Paths of files are relative to it."""

    def __init__(self, root: Path) -> None:
        if not root.is_dir():
            raise Unreadable("there is no such folder", file=escaped(root))
        self.root = root.resolve()

    def files(self, note: Note = lambda text: None) -> dict[Path, Stamp]:
        """Every file that may be taken, by its path. Raises OSError where the folder is gone.

        Symbolic links, what we put away, and unfinished files by their names are left alone.
        """
        return dict(self._below(Path(), note))

    def _below(self, folder: Path, note: Note) -> Iterator[tuple[Path, Stamp]]:
        with os.scandir(self.root / folder) as unsorted:
            entries = sorted(unsorted, key=lambda entry: entry.name)
        for entry in entries:
            path = folder / entry.name
            try:
                if entry.is_symlink():
                    note(f"{escaped(path)}: symbolic links are not followed")
                elif entry.is_dir(follow_symlinks=False):
                    if not _is_kept(path):
                        yield from self._below(path, note)
                elif entry.is_file(follow_symlinks=False) and not _is_left_alone(path):
                    yield path, _stamp(entry.stat(follow_symlinks=False))
            except FileNotFoundError:  # gone since the folder was read
                continue
            except OSError as error:
                note(f"{escaped(path)} cannot be looked at: {error.strerror}")

    def rules(self) -> WatchRules | None:
        """What watch.yaml says, None where there is none. Raises Unreadable with line and key."""
        path = self.root / RULES
        try:
            content = path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            reason = f"the rules cannot be read: {error.strerror}"
            raise Unreadable(reason, file=escaped(path)) from error
        return read_watch_rules(content, escaped(path))

    def stamp(self, path: Path) -> Stamp:
        """How a file looks now. Raises OSError where it is gone."""
        return _stamp((self.root / path).lstat())

    def plan(self, path: Path, rules: WatchRules | None, by: str) -> Planned:
        """What a file is, by its place. Raises WrongUsage where the place does not tell."""
        folder, file = path.parts[:-1], self.root / path
        try:
            rule = rules.rule_for(folder) if rules is not None else None
            if rules is not None and rule is None:
                raise WrongUsage(
                    f"no rule in {RULES} is for the folder {escaped(path.parent)!r}",
                    hint=f"add a rule for it to {RULES}, then drop the file again",
                )
            if rule is None:
                return plan_file(file, _address(folder, exactly=True), parse_visit(by))
            visit = parse_visit(
                rule.by or by,
                rule.occasion,
                work_order=rule.work_order,
                family=rule.family,
                channel=None if rule.channel is None else str(rule.channel),
                node_id=None if rule.node_id is None else str(rule.node_id),
            )
            return plan_file(file, rule.to or _address(folder, exactly=False), visit)
        except VaultError as error:
            raise type(error)(error.message, file=escaped(file), hint=error.hint) from error

    def put_away(
        self, path: Path, stamp: Stamp, sha256: str | None, error: VaultError | None = None
    ) -> Path | None:
        """Move a file to `done/`, or for an error to `refused/` with the reason beside it.

        Returns its new path; None where it is gone or no longer holds what was read (`sha256`, or
        else its stamp). Nothing is overwritten. Raises OSError where it cannot be moved.
        """
        source = self.root / path
        try:
            if not self._is_same(path, stamp, sha256):
                return None
            folder = self.root
            for name in (DONE if error is None else REFUSED, *path.parts[:-1]):
                folder = _folder(folder, name)
            target = next(place for place in _numbered(folder / path.name) if _is_free(place))
            if error is not None:  # first, so that no refused file is ever without
                _write_reason(target.with_name(target.name + REASON), path, error)
            if not _move(source, target, sha256):
                return None
        except FileNotFoundError:
            if os.path.lexists(source):
                raise
            return None
        return target.relative_to(self.root)

    def _is_same(self, path: Path, stamp: Stamp, sha256: str | None) -> bool:
        there = self.stamp(path)
        if sha256 is None or there.size != stamp.size:
            return there == stamp
        return digest((self.root / path).read_bytes()) == sha256


def _stamp(status: os.stat_result) -> Stamp:
    return Stamp(status.st_size, status.st_mtime_ns, status.st_ino)


def _is_kept(folder: Path) -> bool:
    own = len(folder.parts) == 1 and os.path.normcase(folder.name) in (DONE, REFUSED)
    return own or _KEPT_FOLDERS.fullmatch(folder.name) is not None


def _is_left_alone(path: Path) -> bool:
    own = path == Path(RULES) or path.name.endswith(REASON)
    return own or _UNFINISHED.fullmatch(path.name) is not None


def _address(folder: tuple[str, ...], *, exactly: bool) -> Address:
    is_controllers = exactly and len(folder) == 3 and folder[2] == CONTROLLER
    if is_controllers:
        return Address.parse("/".join(folder[:2])).controller
    if len(folder) < 2 or (exactly and len(folder) > 2):
        place = escaped(Path(*folder)) if folder else "the watched folder itself"
        raise WrongUsage(
            f"its place tells no axis: it lay in {place}",
            hint=f"drop it into MACHINE/AXIS/, or write a rule for its folder into {RULES}",
        )
    return Address.parse("/".join(folder[-2:]))


def _numbered(place: Path) -> Iterator[Path]:
    """A place, then others like it with -2, -3 and so on before the ending; none too long."""
    stem, ending = place.stem, place.suffix
    if len(os.fsencode(ending)) > 32:  # no ending, but a name with a point
        stem, ending = place.name, ""
    room = _LONGEST_NAME - len(os.fsencode(ending))
    while len(os.fsencode(stem)) > room:
        stem = stem[:-1]
    yield place.with_name(stem + ending)
    number = 2
    while True:
        yield place.with_name(f"{stem}-{number}{ending}")
        number += 1


def _folder(parent: Path, name: str) -> Path:
    """The folder of that name, made if need be; another one where a file has the name.

    Raises OSError for a symbolic link, which may lead out of the watched folder.
    """
    for place in _numbered(parent / name):
        if place.is_symlink():
            raise OSError(errno.ELOOP, "is a symbolic link, which is not followed", escaped(place))
        try:
            place.mkdir(exist_ok=True)
        except FileExistsError:
            continue
        return place
    raise AssertionError("there is always another name")


def _is_free(place: Path) -> bool:
    """A reason without its file is left from a crash, or the file was taken back: written anew."""
    reason = place.with_name(place.name + REASON)
    return not os.path.lexists(place) and (reason.is_file() or not os.path.lexists(reason))


def _write_reason(place: Path, path: Path, error: VaultError) -> None:
    text = (
        f"refused  {time_text(now().replace(microsecond=0))}\n"
        f"file     {escaped(path)}\n"
        f"reason   {escaped(str(error))}\n"
        "\n"
        "Nothing of it is in the vault. Put right what is wrong and drop it into its folder\n"
        "again, or take it in by hand: axisvault ingest FILE --to MACHINE/AXIS\n"
    )
    with contextlib.suppress(FileNotFoundError):
        place.unlink()
    with place.open("x", encoding="utf-8") as stream:
        stream.write(text)
        stream.flush()
        os.fsync(stream.fileno())


def _move(source: Path, target: Path, sha256: str | None) -> bool:
    """Move a file; False where it changed while it was copied to another device."""
    try:
        source.rename(target)
    except OSError as error:
        if error.errno != errno.EXDEV:
            raise
        return _copy(source, target, sha256)
    return True


def _copy(source: Path, target: Path, sha256: str | None) -> bool:
    handle, name = tempfile.mkstemp(prefix=".", suffix=".part", dir=target.parent)
    draft = Path(name)
    try:
        before = _stamp(source.lstat())
        with source.open("rb") as given, os.fdopen(handle, "wb") as copy:
            shutil.copyfileobj(given, copy)
            copy.flush()
            os.fsync(copy.fileno())
        with contextlib.suppress(OSError):  # as where the other device keeps no rights
            shutil.copystat(source, draft)
        if _stamp(source.lstat()) != before:
            return False
        if sha256 is not None and digest(draft.read_bytes()) != sha256:
            return False
        draft.rename(target)
        source.unlink()
    finally:
        draft.unlink(missing_ok=True)
    return True
