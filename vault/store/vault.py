"""A vault: its repository, index and lock, and the files in it by what they are."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.model.errors import Damaged, Unreadable, VaultError, WrongUsage
from vault.model.golden import Golden
from vault.model.names import Address, whole_axis
from vault.model.written_form import WrittenForm
from vault.store.axis_folders import AxisFolders
from vault.store.directory import NOTHING_RENAMED, Directory, DirectoryReader, SharedName
from vault.store.files import layout, yaml_text
from vault.store.files.corrections_text import STANDING_FORMAT, read_corrections
from vault.store.files.edited_files import (
    cached_family,
    family_problems,
    kept_axis,
    read_site,
)
from vault.store.files.golden_text import read_golden
from vault.store.files.vault_format import RECORDS, check_format, format_of, with_format
from vault.store.followed import followed_axis
from vault.store.git import packing
from vault.store.git.exchange import fetched, partner_at
from vault.store.git.repository import BRANCH, Repository, commit_text
from vault.store.index.index import Index
from vault.store.index.rows import Snapshot
from vault.store.local.lock import WAIT_SECONDS, writing
from vault.store.proof import witness

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord
    from vault.model.corrections import Correction
    from vault.model.export import SkippedLine
    from vault.model.families import Family
    from vault.model.site import SiteRecord
    from vault.store.git.objects import TreeEntry

SCHEMA = "axisvault/vault/1"
RAISED = "The vault says which programs read it\n"
"""Message of the commit that raises the format."""


@dataclass(frozen=True, slots=True)
class FamilyFile:
    """A dictionary as it lies in the vault: name, bytes, and what they say."""

    name: str
    content: bytes

    @property
    def family(self) -> Family:
        """The dictionary read."""
        return cached_family(self.content, layout.family_file(self.name))

    @property
    def problems(self) -> tuple[SkippedLine, ...]:
        """What is wrong with it although it reads: it was put in before that was looked at."""
        return family_problems(self.family, self.content)


@dataclass(frozen=True, slots=True)
class FileEdit:
    """One commit of files that are no part of a snapshot: what becomes of them, who and why."""

    changes: Mapping[str, bytes]
    message: str
    by: str
    removed: tuple[str, ...] = ()


class Vault:
    """An open vault. Readers see the branch as it was when the vault was opened or refreshed."""

    def __init__(self, repository: Repository) -> None:
        self.on_shared_name: Callable[[SharedName], None] = lambda _: None
        self._site: tuple[str, SiteRecord] | None = None
        self._present: tuple[str, str, bytes | None] | None = None
        self._folders = AxisFolders(repository)
        self._directory: tuple[str, Directory] | None = None
        self._directory_reader = DirectoryReader(repository)
        self.repository = repository
        self.state = repository.path / "axisvault"
        self.index = Index(repository, self.state)
        self.tip = self.index.follow()

    @classmethod
    def open(cls, path: Path) -> Vault:
        """Open the vault in a folder.

        Raises WrongUsage where there is none, Refused where a newer program is needed.
        """
        repository = Repository.open(path)
        try:
            check_format(repository.read(BRANCH, layout.VAULT) or b"", str(path))
            return cls(repository)
        except BaseException:
            repository.close()
            raise

    @classmethod
    def create(cls, path: Path, site: str, by: str) -> Vault:
        """Make a new vault for a site."""

        def fill(repository: Repository) -> None:
            content = {"schema": SCHEMA, "reads": RECORDS, "site": site}
            files = {layout.VAULT: yaml_text.mapping_text(content)}
            text = commit_text(f"New vault for {site}\n", by)
            with repository.start_writing() as writer:
                commit = writer.commit(text, files, parent=None)
            witness.advance(repository, None, commit)

        return cls(Repository.create(path, fill))

    @classmethod
    def copy(cls, path: Path, place: str) -> Vault:
        """Make a copy of another vault, which `sync` keeps in step.

        Raises what `partner_at` and `fetched` raise for the other one.
        """
        partner = partner_at(place)

        def fill(repository: Repository) -> None:
            with fetched(repository, partner) as tip:
                site = repository.read(tip, layout.VAULT)
                if site is None:
                    raise Unreadable("it has no vault.yaml: this is no vault", file=partner.name)
                check_format(site, partner.name)
                witness.advance(repository, None, tip)

        return cls(Repository.create(path, fill))

    def close(self) -> None:
        """Close index and repository."""
        self.index.close()
        self.repository.close()

    def __enter__(self) -> Vault:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def site(self) -> str:
        """Name of the site; where somebody broke vault.yaml, that it cannot be read."""
        content = self.repository.read(self.tip, layout.VAULT) or b""
        try:
            site = yaml_text.load(content, layout.VAULT)
        except Unreadable:  # whoever needs what it says is told the line
            return f"({layout.VAULT} cannot be read)"
        return str(site.get("site", "")) if isinstance(site, dict) else ""

    @property
    def site_record(self) -> SiteRecord:
        """The site with its policies. Raises Unreadable where somebody broke vault.yaml."""
        if self._site is None or self._site[0] != self.tip:
            content = self.read_required(layout.VAULT, self.tip)
            self._site = self.tip, read_site(content, layout.VAULT)
        return self._site[1]

    @property
    def written_form(self) -> WrittenForm:
        """How the site writes numbers and dates; the usual form where vault.yaml does not tell."""
        content = self.repository.read(self.tip, layout.VAULT) or b""
        if yaml_text.may_mention(content, b"written"):
            with suppress(VaultError):  # whoever needs what it says is told the line
                return self.site_record.written.form
        return WrittenForm()

    def refresh(self) -> None:
        """See the branch as it is now."""
        self.tip = self.index.follow()

    @contextmanager
    def writing(self, wait: float = WAIT_SECONDS) -> Iterator[None]:
        """Be the only writer, on the branch's present state."""
        with writing(self.state, wait):
            self.repository.remove_stale_locks()
            self.refresh()
            yield
            with suppress(VaultError):  # everything is in; reading is only slower
                packing.gather_packs(self.repository)

    def reindex(self) -> int:
        """Rebuild the index and pack the repository; returns the number of snapshots."""
        with writing(self.state):
            packing.housekeeping(self.repository)
            count = self.index.rebuild()
            self.refresh()
        return count

    def raised_format(self, wanted: int = RECORDS) -> dict[str, bytes]:
        """vault.yaml as it must stand with files of a format; empty where it does."""
        site = self.read_required(layout.VAULT, self.tip)
        raised = with_format(site, wanted)
        return {} if raised == site else {layout.VAULT: raised}

    def raise_format(self, by: str, wanted: int) -> None:
        """Have vault.yaml say which programs read files of a format. Call within `writing`."""
        if changes := self.raised_format(wanted):
            self.write_files(changes, RAISED, by)

    def write_files(
        self, changes: Mapping[str, bytes], message: str, by: str, removed: Iterable[str] = ()
    ) -> str:
        """Commit files that are no part of a snapshot, and remove others.

        Call within `writing`; returns the commit.
        """
        return self.write_each([FileEdit(changes, message, by, tuple(removed))])

    def write_each(self, edits: Iterable[FileEdit]) -> str:
        """Commit one edit after the other; the branch moves once, when all are written.

        Call within `writing`; returns the last commit.
        """
        tip = self.tip
        with self.repository.start_writing() as writer:
            for edit in edits:
                text = commit_text(edit.message, edit.by)
                tip = writer.commit(text, edit.changes, parent=tip, emptied=edit.removed)
        if tip != self.tip:
            self.advance(tip)
            self.refresh()
        return tip

    def advance(self, commit: str) -> None:
        """Move the branch to a commit on top of it. Call within `writing`; `refresh` shows it.

        Raises Unavailable if somebody moved it meanwhile, or it or the witness cannot be written.
        """
        witness.advance(self.repository, self.tip, commit)

    def read(self, path: str, commit: str | None = None) -> bytes | None:
        """Content of a file, at the branch's state or in a commit; None where there is none.

        Raises Damaged where there is one that cannot be read.
        """
        content = self.repository.read(commit or self.tip, path)
        if content is None:
            self.repository.check_absent(commit or self.tip, path)
        return content

    def axis_text(self, address: Address) -> bytes | None:
        """axis.yaml at the branch's state; the one asked for last is remembered."""
        path = layout.axis_file(address)
        if self._present is None or self._present[:2] != (self.tip, path):
            self._present = (self.tip, path, self.read(path))
        return self._present[2]

    def read_required(self, path: str, commit: str) -> bytes:
        """Content of a file that must be there. Raises Damaged otherwise."""
        content = self.read(path, commit)
        if content is None:
            raise Damaged("the vault misses this file", file=f"{commit[:10]}:{path}")
        return content

    def family_names(self) -> list[str]:
        """Names of the families whose dictionary is in the vault."""
        names = (e.path.split("/")[1] for e in self.repository.list(self.tip, layout.FAMILIES))
        return [name.removesuffix(".yaml") for name in names if name.endswith(".yaml")]

    def family_file(self, name: str, commit: str | None = None) -> FamilyFile:
        """A dictionary, at the branch's state or in a commit. Raises WrongUsage if unknown."""
        content = self.read(layout.family_file(name), commit)
        if content is None:
            known = ", ".join(self.family_names()) or "none yet"
            raise WrongUsage(
                f"the vault has no family {name!r} (it has: {known})",
                hint="add one: axisvault family add FILE",
            )
        return FamilyFile(name, content)

    def axis_record(self, address: Address, commit: str | None = None) -> AxisRecord | None:
        """The axis as built, None where nothing was recorded."""
        path = layout.axis_file(address)
        content = self.read(path, commit)
        return None if content is None else kept_axis(content, path)

    def golden(self, address: Address) -> Golden:
        """The golden baseline with its waivers; an empty one where there is none."""
        path = layout.golden_file(address)
        content = self.read(path)
        return Golden() if content is None else read_golden(content, path)

    def corrections(self, address: Address) -> tuple[Correction, ...]:
        """What people added about an axis afterwards, in the order they did."""
        return self.corrections_in(layout.corrections_file(address))

    def corrections_in(self, path: str) -> tuple[Correction, ...]:
        """The entries of a list of corrections, of an axis or a machine."""
        content = self.read(path)
        return () if content is None else read_corrections(content, path)

    def follows(self, address: Address) -> Address | None:
        """The axis whose baseline holds for this one; see `followed_axis`."""
        return followed_axis(self, address)

    def axes(self, machine: str | None = None) -> list[Address]:
        """Every axis, or those of a machine, that have a record or a snapshot of either side."""
        return self._folders.axes(self.tip, machine, self.index.axes, self.names.named)

    def controller_sets(self, machine: str | None = None) -> list[Address]:
        """The controller's sets that were ever taken in, of a machine or all, by name."""
        found = (address for address in self.index.axes(machine) if address.is_controller)
        return [self.names.named(address) for address in sorted(found)]

    def axis_folders(self, machine: str | None = None) -> dict[Address, str]:
        """Ids of axes' folders, of a machine or all: they change with anything in them."""
        tip, folders = self.tip, self._folders
        return folders.ids(tip) if machine is None else folders.ids_of(tip, machine)

    def blobs_named(self, name: str) -> Mapping[Address, str]:
        """Ids of a file in the folders of axes, of those that have it."""
        return self._folders.blobs_named(self.tip, name)

    def machine_files(self) -> list[TreeEntry]:
        """Everything that lies in the folders of the machines."""
        return self._folders.files(self.tip)

    def exists(self, address: Address) -> bool:
        """Say whether the axis has a record or a snapshot, the controller's side a snapshot.

        Raises Damaged as `read`.
        """
        if self.repository.resolve(f"{self.tip}:{layout.folder(address)}") is not None:
            return True
        self.repository.check_absent(self.tip, layout.folder(address))
        return False

    @property
    def names(self) -> Directory:
        """What machines and axes are called at the branch's state, and which are out of use."""
        if self._directory is None or self._directory[0] != self.tip:
            self._directory = self.tip, self.names_at(self.tip)
        return self._directory[1]

    def names_at(self, commit: str) -> Directory:
        """The same in a commit."""
        site = self.repository.read(commit, layout.VAULT) or b""
        if format_of(site) < STANDING_FORMAT:  # nothing was ever renamed
            return NOTHING_RENAMED
        return self._directory_reader.at(commit)

    def address(self, text: str) -> Address:
        """The axis that somebody names, by any name that it has or had. Raises WrongUsage.

        That others had the name too is said to `on_shared_name`.
        """
        typed = Address.parse(text)
        if (shared := self.names.also(typed)) is not None:
            self.on_shared_name(shared)
        return self.names.find(typed)

    def require_axis(self, address: Address) -> Address:
        """The axis that has, or had, a name. Raises WrongUsage with what there is."""
        address = self.names.find(address)
        if self.exists(address):
            return address
        if address.is_controller and self.exists(address.drive):
            raise WrongUsage(
                f"{address.drive} has no set of its controller's side yet",
                hint=f"axisvault ingest FILE --to {address}",
            )
        raise WrongUsage(f"there is no axis {address.drive}", hint=self._nearest(address))

    def require_whole_axis(self, address: Address) -> Address:
        """The same for what is of the axis and of neither side alone.

        Raises WrongUsage for the controller's side too.
        """
        return self.require_axis(whole_axis(address))

    def _nearest(self, address: Address) -> str:
        from difflib import get_close_matches

        names = [str(a) for a in self.axes()]
        near = get_close_matches(str(address.drive), names, n=3, cutoff=0.5)
        if near:
            return f"did you mean {' or '.join(near)}?"
        return "axisvault axis list shows all" if names else "the vault is still empty"

    def case_clash(self, address: Address) -> str | None:
        """Say which name in the vault an axis's name differs from in case only; None for none."""
        return self._folders.case_clash(self.tip, address, self.names)

    def latest(self, address: Address) -> Snapshot | None:
        """The snapshot with the latest taken-at."""
        return self.index.nth_latest(address, 0)
