"""What another copy would change of what people write here, and which of it needs consent.

Snapshots prove themselves. What says who may do what, where messages go and what counts as right
does not: that holds here because somebody here said so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Literal

from vault.jobs.baseline.golden import policy_objection
from vault.jobs.state.check import check_state
from vault.jobs.state.selectors import State
from vault.jobs.state.whole_set import why_not_whole
from vault.jobs.sync.incoming_trial import foreign_objection, tried_of
from vault.jobs.trials.required import trial_objection
from vault.model.axis import AxisRecord
from vault.model.corrections import joined_corrections, standing
from vault.model.dictionary_changes import meant_otherwise
from vault.model.errors import Damaged, Refused, VaultError
from vault.model.golden import Golden
from vault.model.internal_errors import told_apart
from vault.model.names import Address
from vault.model.wording import plural
from vault.store.files import layout
from vault.store.files.corrections_text import read_corrections
from vault.store.files.edited_files import kept_axis, read_family, read_site
from vault.store.files.fault_log_text import read_fault_log
from vault.store.files.golden_text import read_golden
from vault.store.files.restore_text import read_restore
from vault.store.git.history import is_ancestor, last_changes, written_files
from vault.store.git.signatures import signatures
from vault.store.index.recorded import is_recorded
from vault.store.index.rows import Snapshot

if TYPE_CHECKING:
    from vault.jobs.sync.incoming_trial import TriedKind
    from vault.model.golden import Approval, Waiver
    from vault.model.site import SiteRecord
    from vault.store.git.history import WrittenFile
    from vault.store.vault import Vault

Consent = Literal["policy", "golden"]
"""What a person can accept: policy, channels and signers of the site; baselines and waivers."""

_SHOWN = 3
_KEPT = ("faults.yaml", "restore.yaml")
_KEPT_FOLDERS = ("/restore/", "/trials/")
_POLICY = ("approval", "signing", "hazards", "export_every", "site", "viewer", "written")
_HELD_TO = ("margins", "force_protects")


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

    def __init__(
        self, partner: str, changes: Sequence[IncomingChange], accepted: Collection[Consent] = ()
    ) -> None:
        wanted = [change for change in changes if change.needs not in (None, *accepted)]
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
    return list(_Incoming(vault, partner, theirs, tip, set(files)).changes(files, only_looks))


def called_alike(vault: Vault, tip: str) -> list[IncomingChange]:
    """Names that two axes or machines would have at a tip, for which a take is refused."""
    return [
        IncomingChange(f"{layout.MACHINES}/{clash.other}/corrections.yaml", "name", why=str(clash))
        for clash in vault.names_at(tip).clashes
    ]


def _axis_of(path: str) -> Address | None:
    """The axis in whose folder a file lies, None for one that lies elsewhere."""
    place = layout.place_of(path)
    return place[0] if place is not None and "/" not in place[1] else None


class _Incoming:
    """Both sides of a take that is looked at."""

    def __init__(
        self, vault: Vault, partner: str, theirs: str, tip: str, files: Collection[str]
    ) -> None:
        self._vault, self._partner, self._tip = vault, partner, tip
        self._range = vault.tip, theirs
        self._last = last_changes(vault.repository, *self._range)
        self._written: defaultdict[str, list[WrittenFile]] = defaultdict(list)
        for written in written_files(vault.repository, *self._range):  # one log for all of them
            if written.path in files:
                self._written[written.path].append(written)
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
        elif (address := _axis_of(path)) is not None and name == "golden.yaml":
            yield from self._of_golden(address, path, content)
        elif address is not None and name == "axis.yaml":
            yield from self._of_axis(path, content)
        elif content is None:
            is_lost = (
                path.startswith(f"{layout.FAMILIES}/")
                or name in _KEPT
                or any(folder in path for folder in _KEPT_FOLDERS)
            )
            needs: Consent | None = "policy" if is_lost else None
            yield IncomingChange(path, "deletion", needs=needs, why="it is gone there")
        elif path.startswith(f"{layout.FAMILIES}/"):
            yield self._of_dictionary(path, content)
        elif address is not None and name == "restore.yaml":
            yield self._of_plan(address, path, content)
        elif (tried := tried_of(path)) is not None:
            yield self._of_tried(*tried, path, content)
        elif name == "corrections.yaml":
            yield self._of_notes(path, content)
        elif address is not None and name == "faults.yaml":
            yield self._of_faults(path, content)
        else:
            yield IncomingChange(path, "machine" if name == "machine.yaml" else "file")

    def _of_dictionary(self, path: str, content: bytes) -> IncomingChange:
        """A dictionary that is new says nothing about what is here; one that changes may."""
        there = read_family(content, f"{self._partner}:{path}")
        before = self._vault.read(path)
        if before is None:
            return IncomingChange(path, "dictionary")
        try:
            changed = meant_otherwise(read_family(before, path), there)
        except VaultError:  # broken by hand
            changed = ["all of it"]
        if not changed:
            return IncomingChange(path, "dictionary")
        more = ", …" if len(changed) > _SHOWN else ""
        why = f"what is meant by {', '.join(changed[:_SHOWN])}{more}"
        return IncomingChange(path, "dictionary", needs="golden", why=why)

    def _of_axis(self, path: str, content: bytes | None) -> Iterator[IncomingChange]:
        """A record of an axis; whose baseline holds, and how often an export is due, is policy."""
        nothing = AxisRecord.model_validate({"schema": "axisvault/axis/1"})
        there = nothing if content is None else kept_axis(content, f"{self._partner}:{path}")
        before = self._vault.read(path)
        try:
            here: AxisRecord | None = nothing if before is None else kept_axis(before, path)
        except VaultError:  # broken by hand: whose baseline holds is not known
            here = None
        kind = "axis" if content is not None else "deletion"
        if here is None or here.follows != there.follows:
            why = f"whose baseline holds: {there.follows or 'its own'}"
            yield IncomingChange(path, kind, needs="golden", why=why)
        elif here.export_every != there.export_every:
            yield IncomingChange(path, kind, needs="policy", why="how often an export is due")
        elif any(getattr(here, key) != getattr(there, key) for key in _HELD_TO):
            why = "what the axis is held to: its floors, and whether its force protects"
            yield IncomingChange(path, kind, needs="policy", why=why)
        else:
            yield IncomingChange(path, kind)

    def _of_faults(self, path: str, content: bytes) -> IncomingChange:
        """A fault log, which is only added to."""
        there = set(read_fault_log(content, f"{self._partner}:{path}"))
        before = self._vault.read(path)
        lost = set() if before is None else set(read_fault_log(before, path)) - there
        if not lost:
            return IncomingChange(path, "faults")
        why = f"{plural(len(lost), 'fault is', 'faults are')} gone there"
        return IncomingChange(path, "faults", needs="policy", why=why)

    def _of_tried(
        self, kind: TriedKind, address: Address, path: str, content: bytes
    ) -> IncomingChange:
        """A trial or a trace, which others may rest on: it stays as it was added."""
        authors = [by for by, _ in self._versions(path)]
        why = foreign_objection(
            self._vault, kind, address, path, content, authors,
            partner=self._partner, tip=self._tip,
        )  # fmt: skip
        return IncomingChange(path, kind, needs="golden" if why else None, why=why)

    def _of_plan(self, address: Address, path: str, content: bytes) -> IncomingChange:
        """A restore plan, which says what a drive is held against."""
        plan = read_restore(content, f"{self._partner}:{path}")
        authors = [
            author
            for author, version in self._versions(path)
            if read_restore(version, path).id == plan.id
        ]
        named = [plan.snapshot, *([plan.signed_off.snapshot] if plan.signed_off else [])]
        before = self._vault.read(path)
        here = read_restore(before, path) if before is not None else None
        is_known = here is not None and here.id == plan.id
        known = (here.marks, here.signed_off) if here is not None and is_known else ((), None)
        strangers = [m.by for m in plan.marks if m not in known[0] and m.by not in authors]
        why = None
        if is_known and here != replace(plan, marks=known[0], signed_off=known[1]):
            why = "it is not the plan that was made"
        elif not is_known and plan.by not in authors[:1]:
            why = f"it names {plan.by}, and {(authors or ['nobody'])[0]} wrote it"
        elif not is_known and plan.load_file is not None:
            why = "its load file was made in another copy, and goes into a drive"
        elif plan.signed_off not in (None, known[1]) and plan.signed_off.by not in authors:
            why = f"it is signed by {plan.signed_off.by}, who did not write it"
        elif strangers:
            why = f"its sheet is ticked by {strangers[0]}, who did not write it"
        elif not all(is_recorded(self._vault.repository, self._tip, address, n) for n in named):
            why = "what it names is no snapshot of this axis"
        needs: Consent | None = "golden" if why else None
        return IncomingChange(path, "restore plan", needs=needs, why=why)

    def _of_notes(self, path: str, content: bytes) -> IncomingChange:
        """Notes, names, retirement: that takes an axis off the list of those that are looked at."""
        before = self._vault.read(path)
        known = () if before is None else read_corrections(before, path)
        new = [e for e in read_corrections(content, f"{self._partner}:{path}") if e not in known]
        versions = [(by, read_corrections(text, path)) for by, text in self._versions(path)]
        for entry in new:
            author = next((by for by, entries in versions if entry in entries), None)
            if author != entry.by:
                why = f"a note names {entry.by}, and {author or 'nobody'} wrote it"
                return IncomingChange(path, "notes", needs="golden", why=why)
        if (
            standing(known).retired is None
            and (out := standing(joined_corrections(known, new)).retired) is not None
        ):
            why = f"out of use, so that no export is due and nobody is told of drift: {out.text}"
            return IncomingChange(path, "retirement", needs="policy", why=why)
        if any(entry.kind == "renamed" for entry in new):
            return IncomingChange(path, "name")
        return IncomingChange(path, "notes")

    def _versions(self, path: str) -> Iterator[tuple[str, bytes]]:
        """Who wrote what there since both were the same, oldest first."""
        for version in self._written[path]:
            content = self._vault.repository.blob(version.blob)
            if content is not None:
                yield self._vault.repository.commit_header(version.commit).author, content

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

    def _of_golden(
        self, address: Address, path: str, content: bytes | None
    ) -> Iterator[IncomingChange]:
        before = self._golden(path, self._vault.read(path))
        after = self._golden(path, content)
        authors = [(by, self._golden(path, version)) for by, version in self._versions(path)]
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
        if approval.override_reason:
            return None
        untried = trial_objection(vault, state, self._tip)
        return untried.message if untried is not None else why_not_whole(state)

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
