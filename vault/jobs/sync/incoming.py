"""What another copy would change of what people write here, and which of it needs consent.

Snapshots prove themselves. What says who may do what, where messages go and what counts as right
does not: that holds here because somebody here said so.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Literal

from vault.jobs.baseline.golden import policy_objection
from vault.jobs.state.check import check_state
from vault.jobs.state.selectors import State
from vault.jobs.state.whole_set import why_not_whole
from vault.model.errors import Damaged, Refused, VaultError
from vault.model.golden import Golden
from vault.model.internal_errors import told_apart
from vault.model.names import Address
from vault.model.wording import plural
from vault.store.files import layout
from vault.store.files.edited_files import read_site
from vault.store.files.golden_text import read_golden
from vault.store.git.history import is_ancestor, last_changes, written_files
from vault.store.git.signatures import signatures
from vault.store.index.recorded import is_recorded
from vault.store.index.rows import Snapshot

if TYPE_CHECKING:
    from vault.model.golden import Approval, Waiver
    from vault.model.site import SiteRecord
    from vault.store.git.history import WrittenFile
    from vault.store.vault import Vault

Consent = Literal["policy", "golden"]
CONSENTS: tuple[Consent, ...] = ("policy", "golden")
"""What a person can accept: policy, channels and signers of the site; baselines and waivers."""

_KINDS = {
    "axis.yaml": "axis",
    "machine.yaml": "machine",
    "faults.yaml": "faults",
    "restore.yaml": "restore plan",
    "corrections.yaml": "notes",
}
_POLICY = ("approval", "signing", "export_every", "site", "viewer")


@dataclass(frozen=True, slots=True)
class IncomingChange:
    """What would change of a file that people write.

    `author` is who changed it last there, `signer` whose key signed that, as far as it is allowed
    here. `needs` is what has to be accepted for it, and `why`; None where nothing has.
    """

    path: str
    kind: str
    author: str | None = None
    signer: str | None = None
    needs: Consent | None = None
    why: str | None = None

    def __str__(self) -> str:
        who = f" by {self.author}" if self.author else ""
        why = f" ({self.why})" if self.why else ""
        return f"{self.kind} in {self.path}{who}{why}"


class ConsentNeeded(Refused):
    """A take that somebody here has to consent to; `changes` are all that it would change."""

    def __init__(self, partner: str, changes: Sequence[IncomingChange]) -> None:
        wanted = [change for change in changes if change.needs is not None]
        options = dict.fromkeys(f"--accept {change.needs}" for change in wanted)
        count = plural(len(wanted), "change needs", "changes need")
        super().__init__(
            f"{partner}: {count} the consent of somebody here: {'; '.join(map(str, wanted))}",
            hint=f"nothing was taken; look at it with sync look, then {' '.join(options)}, "
            "or --keep here to take the rest",
        )
        self.changes = tuple(changes)

    @property
    def details(self) -> dict[str, object]:
        """All changes, as `sync look` gives them."""
        return {"changes": [asdict(change) for change in self.changes]}


def incoming_changes(
    vault: Vault,
    partner: str,
    theirs: str,
    tip: str,
    files: Collection[str],
    *,
    only_looks: bool = False,
) -> list[IncomingChange]:
    """What a tip would change here of `files`, which people write.

    `theirs` is the tip of the other copy, `partner` its name for people.
    Raises what reading one of the files raises, naming the partner; who `only_looks` is told that
    file by file, as a change that cannot be read.
    """
    if not files:
        return []
    return list(_Incoming(vault, partner, theirs, tip, files).changes(files, only_looks))


class _Incoming:
    """Both sides of a take that is looked at."""

    def __init__(
        self, vault: Vault, partner: str, theirs: str, tip: str, files: Collection[str]
    ) -> None:
        self._vault, self._partner, self._tip = vault, partner, tip
        self._range = vault.tip, theirs
        self._last = last_changes(vault.repository, *self._range)
        allowed = vault.read(layout.SIGNERS) or b""
        commits = sorted({self._last[path] for path in files if path in self._last})
        self._signers = {
            signature.commit: signature.signer
            for signature in signatures(vault.repository, commits, allowed)
            if signature.objection is None
        }

    def changes(self, files: Collection[str], only_looks: bool) -> Iterator[IncomingChange]:
        for path in sorted(files):
            found: list[IncomingChange] = []
            told: list[VaultError] = []
            with told_apart(told.append, path, *(() if only_looks else (Exception,))):
                found += self._of(path)
            found += [IncomingChange(path, "cannot be read", why=str(error)) for error in told]
            for change in found:
                yield replace(change, author=self._author(path), signer=self._signer(path))

    def _of(self, path: str) -> Iterator[IncomingChange]:
        content = self._vault.read(path, self._tip)
        name = path.rsplit("/", 1)[-1]
        if path == layout.VAULT:
            yield from self._of_site(content)
        elif path == layout.SIGNERS:
            yield IncomingChange(path, "signers", needs="policy", why="who may sign")
        elif name == "golden.yaml" and path.startswith(f"{layout.MACHINES}/"):
            yield from self._of_golden(path, content)
        elif content is None:
            yield IncomingChange(path, "deletion")
        elif path.startswith(f"{layout.FAMILIES}/"):
            yield IncomingChange(path, "dictionary")
        else:
            yield IncomingChange(path, _KINDS.get(name, "file"))

    def _of_site(self, content: bytes | None) -> Iterator[IncomingChange]:
        path = layout.VAULT
        if content is None:
            raise Damaged("nothing was taken: vault.yaml is gone there", file=self._partner)
        there = read_site(content, f"{self._partner}:{path}")
        try:
            here: SiteRecord | None = self._vault.site_record
        except VaultError:  # broken by hand: whatever comes in is another policy
            here = None
        changed = [
            name for name in _POLICY if here is None or getattr(here, name) != getattr(there, name)
        ]
        if changed:
            why = ", ".join(name.replace("_", " ") for name in changed)
            yield IncomingChange(path, "policy", needs="policy", why=why)
        if here is None or here.alerts != there.alerts:
            yield IncomingChange(path, "channels", needs="policy", why="where messages go")
        if here is None or here.open_reading != there.open_reading:
            yield IncomingChange(path, "open reading", needs="policy", why="who may read")
        if here is not None and not changed and (here.alerts, here.open_reading) == (
            there.alerts, there.open_reading,
        ):  # fmt: skip
            yield IncomingChange(path, "site")

    def _of_golden(self, path: str, content: bytes | None) -> Iterator[IncomingChange]:
        _, machine, axis, _ = path.split("/")
        address = Address(machine, axis)
        before = self._golden(path, self._vault.read(path))
        after = self._golden(path, content)
        authors = self._authors_of_versions(path)
        if after.approval != before.approval:
            why = (
                "the baseline is withdrawn there"
                if after.approval is None
                else self._approval_objection(address, after.approval, authors)
            )
            kind = "golden baseline" if content is not None else "deletion"
            yield IncomingChange(path, kind, needs="golden" if why else None, why=why)
        for waiver in after.waivers:
            if waiver not in before.waivers:
                why = self._waiver_objection(waiver, authors)
                needs: Consent | None = "golden" if why else None
                yield IncomingChange(path, f"waiver for {waiver.code}", needs=needs, why=why)
        if after.approval == before.approval and set(after.waivers) <= set(before.waivers):
            yield IncomingChange(path, "waivers withdrawn")

    def _golden(self, path: str, content: bytes | None) -> Golden:
        return Golden() if content is None else read_golden(content, f"{self._partner}:{path}")

    def _authors_of_versions(self, path: str) -> list[tuple[str, Golden]]:
        """Who wrote which baseline there since both were the same, oldest first."""
        written: list[WrittenFile] = list(written_files(self._vault.repository, *self._range, path))
        found = []
        for version in written:
            content = self._vault.repository.blob(version.blob)
            author = self._vault.repository.commit_header(version.commit).author
            found.append((author, self._golden(path, content)))
        return found

    def _approval_objection(
        self, address: Address, approval: Approval, authors: Sequence[tuple[str, Golden]]
    ) -> str | None:
        """Why an approval does not hold by what is asked for here; None where it does."""
        vault = self._vault
        author = next((by for by, golden in authors if golden.approval == approval), None)
        if author != approval.by:
            return f"it names {approval.by}, and {author or 'nobody'} wrote it"
        if not is_recorded(vault.repository, self._tip, address, approval.snapshot):
            return "what it approves is no snapshot of this axis"
        if not is_ancestor(vault.repository, approval.vault_at, self._tip):
            return "it was given on a history that is not there"
        text = vault.read(layout.snapshot_file(address), approval.snapshot) or b""
        snapshot = Snapshot(0, address, approval.snapshot, text)
        state = State(str(address), vault, address, snapshot, built_at=approval.vault_at)
        objection = policy_objection(
            vault.site_record.approval, state, approval.by, approval.reason,
            check_state(state), approval.accepted,
        )  # fmt: skip
        if objection is not None:
            return objection.message
        return None if approval.override_reason else why_not_whole(state)

    @staticmethod
    def _waiver_objection(waiver: Waiver, authors: Sequence[tuple[str, Golden]]) -> str | None:
        author = next((by for by, golden in authors if waiver in golden.waivers), None)
        if author != waiver.by:
            return f"it names {waiver.by}, and {author or 'nobody'} wrote it"
        return None if waiver.reason.strip() else "it has no reason"

    def _author(self, path: str) -> str | None:
        commit = self._last.get(path)
        return None if commit is None else self._vault.repository.commit_header(commit).author

    def _signer(self, path: str) -> str | None:
        return self._signers.get(self._last.get(path, ""))
