"""Storing what was typed into the form of an axis record, or a file that somebody sent instead."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from vault.jobs.axis_form.fields import BY_APPROVER
from vault.jobs.axis_form.typed import Values, loaded, shown, typed
from vault.jobs.records.axis_remarks import check_floors
from vault.jobs.records.edit import RecordAdded, rewrite_axis
from vault.model.axis import AxisRecord
from vault.model.errors import Refused, Unreadable, WrongUsage
from vault.store.files import layout
from vault.store.files.edited_files import NEW_AXIS, kept_axis, read_axis
from vault.store.files.snapshot_text import digest
from vault.store.files.yaml_edits import with_edits

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault

_MOST_TRIES = 40
_SCHEMA = "axisvault/axis/1"
MOST_BYTES = 8 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Form:
    """The form of an axis: what its fields say, what is wrong with one, and the record it makes.

    `version` tells the stored file from any other; `by_hand` says why it is edited as a file alone,
    and `record` is without what is wrong. `stored` is the record that the vault has, `touched` are
    the fields that say something else.
    """

    version: str
    values: Values
    problems: Mapping[str, str]
    record: AxisRecord
    stored: AxisRecord | None
    content: bytes | None
    touched: frozenset[str] = frozenset()
    by_hand: Unreadable | None = None

    @property
    def is_new(self) -> bool:
        """Whether the vault has no record of the axis yet."""
        return self.content is None


def open_form(vault: Vault, address: Address, sent: Mapping[str, str]) -> Form:
    """The form as it is stored, with what was typed over it."""
    file = layout.axis_file(address)
    content = vault.read(file)
    version = version_of(content)
    empty = AxisRecord(schema=_SCHEMA)
    try:
        before = loaded(content, file)
        stored = None if content is None else kept_axis(content, file)
        values = shown(before)
        if sent:
            made = typed(before, sent)
            edits, problems = made.edits, dict(made.problems)
        else:
            edits, problems = {}, {}
        record, more = _supposed(content, edits, file)
    except Unreadable as error:
        return Form(version, {}, {}, empty, None, content, by_hand=error)
    problems = {_row_of(key, {**values, **sent}): why for key, why in {**more, **problems}.items()}
    touched = frozenset(name for name, text in sent.items() if text != values.get(name, ""))
    return Form(version, {**values, **sent}, problems, record, stored, content, touched)


def _row_of(key: str, values: Values) -> str:
    """The field that a problem is told at: a floor is typed in a row, and known by its name."""
    section, _, name = key.partition(".")
    if section == "margins":
        rows = (field for field, text in values.items() if text == name)
        return next((row for row in rows if row.startswith("margins.")), key)
    return key


def version_of(content: bytes | None) -> str:
    """What tells one text of a record from another; empty for none."""
    return "" if content is None else digest(content)


def _supposed(
    content: bytes | None, edits: Mapping[str, Any], file: str
) -> tuple[AxisRecord, dict[str, str]]:
    """The record that edits make, without those that cannot be; what is wrong with these."""
    problems: dict[str, str] = {}
    left: dict[str, Any] = _copy(edits)
    for _ in range(_MOST_TRIES):
        changed = with_edits(content or NEW_AXIS, left, file)
        try:
            record = read_axis(changed, file)
            check_floors(record, changed, file)
        except Unreadable as error:
            found = error.problems or ()
            told = {one.text: one.reason for one in found}
            if not told:
                key, _, reason = error.message.partition(": ")
                told = {key: reason or error.message}
            problems |= {key: reason for key, reason in told.items() if key not in problems}
            taken = [_take_out(left, key) for key in told]
            if not any(taken):
                return kept_axis(changed, file), problems
        else:
            return record, problems
    return kept_axis(with_edits(content or NEW_AXIS, {}, file), file), problems


def _copy(edits: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _copy(one) if isinstance(one, Mapping) else one for key, one in edits.items()}


def _take_out(edits: dict[str, Any], key: str) -> bool:
    """Take the edit away that a problem is about: that of its key, or of one above it."""
    place: Any = edits
    parents: list[tuple[dict[str, Any], str]] = []
    for part in key.split("."):
        if not isinstance(place, dict) or part not in place:
            break
        parents.append((place, part))
        place = place[part]
    if not parents:
        return False
    parent, part = parents[-1]
    del parent[part]
    return True


def store_form(
    vault: Vault,
    address: Address,
    sent: Mapping[str, str],
    version: str,
    by: str,
    *,
    approves: bool,
) -> RecordAdded:
    """Store what was typed; `version` is that of the file it was typed over.

    Without `approves` what the axis is held to stays as it is. Raises Refused where somebody
    changed the record meanwhile, WrongUsage for a field that cannot be.
    """
    file = layout.axis_file(address)

    def rewrite(content: bytes | None) -> bytes:
        if version_of(content) != version:
            raise Refused(
                "somebody changed the record of this axis meanwhile",
                hint="look at what it says by now, then store again",
            )
        made = typed(loaded(content, file), sent)
        if made.problems:
            raise first_problem(made.problems)
        changed = with_edits(content or NEW_AXIS, made.edits, file)
        try:
            check_floors(read_axis(changed, file), changed, file)
        except Unreadable as error:
            told = {one.text: one.reason for one in error.problems or ()}
            raise (first_problem(told) if told else error) from error
        return changed

    return rewrite_axis(vault, address, rewrite, file, by, _may_change(approves))


def store_file(
    vault: Vault, address: Address, content: bytes, file: str, by: str, *, approves: bool
) -> RecordAdded:
    """Store a record that somebody edited as a file. Raises Unreadable with file, line and key."""
    if len(content) > MOST_BYTES:
        raise Unreadable("the file is too large", file=file, line=1)
    return rewrite_axis(vault, address, lambda _: content, file, by, _may_change(approves))


def first_problem(problems: Mapping[str, str]) -> WrongUsage:
    """The error that a form is refused with."""
    name, reason = next(iter(problems.items()))
    more = len(problems) - 1
    counted = f" (and {more} more)" if more else ""
    return WrongUsage(f"{name}: {reason}{counted}", hint="it stands beside the field")


def _may_change(approves: bool) -> Callable[[AxisRecord | None, AxisRecord], None]:
    """Refuses changes of what an axis is held to by somebody who may not approve."""

    def check(before: AxisRecord | None, after: AxisRecord) -> None:
        if before is None:
            if approves:
                return
            raise Refused(
                "the record that is stored cannot be read: replacing it takes the role approver",
                hint="it may say what the axis is held to",
            )
        changed = sorted(key for key in BY_APPROVER if getattr(before, key) != getattr(after, key))
        if changed and not approves:
            raise Refused(
                f"changing {', '.join(changed)} takes the role approver",
                hint="these say what the axis is held to, and not how it is built",
            )

    return check


def new_axis(vault: Vault, address: Address, title: str, by: str) -> RecordAdded:
    """Make an axis before its first export. Raises WrongUsage where there is one of the name."""
    file = layout.axis_file(address)
    edits = {"title": title} if title else {}

    def rewrite(content: bytes | None) -> bytes:
        if content is not None or vault.exists(vault.names.find(address)):
            raise WrongUsage(f"there is an axis {address} already", hint=f"open /axis/{address}")
        return with_edits(NEW_AXIS, edits, file)

    return rewrite_axis(vault, address, rewrite, file, by)
