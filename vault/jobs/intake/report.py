"""Last stage: what to tell of an export that was taken in."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from vault.jobs.baseline.axis_drift import AxisDrift
from vault.jobs.baseline.drift import drift_if_any
from vault.jobs.state.selectors import State, defaults_of, policy_of
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Comparison
from vault.meaning.compare import compare
from vault.model.errors import VaultError
from vault.model.internal_errors import internal_error
from vault.store.clock import microseconds
from vault.store.files import layout
from vault.store.files.edited_files import cached_axis
from vault.store.index.rows import Snapshot

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.jobs.intake.guard import Verdict
    from vault.jobs.intake.time_taken import TimeTaken
    from vault.model.axis import AxisRecord
    from vault.model.names import Address
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Ingested:
    """What became of one export.

    `comparison` is against the snapshot before it, if any; `drift` tells how the axis stands to its
    golden baseline, if it has one.
    """

    snapshot: Snapshot
    parameters: int
    warnings: tuple[str, ...]
    comparison: Comparison | None
    drift: AxisDrift | None = None

    @property
    def unchanged(self) -> bool:
        """Whether the settings are those of the snapshot before."""
        return self.comparison is not None and self.comparison.is_unchanged


def warnings_of(export: Export, verdict: Verdict, taken: TimeTaken) -> tuple[str, ...]:
    """What a reader should know of an export that is taken in with this verdict."""
    coverage = export.coverage
    incomplete = () if coverage.is_whole else (coverage.sentence,)
    overridden = (f"taken in although {objection.reason}" for objection in verdict.objections)
    remarks = (taken.remark,) if taken.remark else ()
    return (
        *export.warnings,
        *incomplete,
        *coverage.warnings,
        *filter(None, [coverage.not_in_file]),
        *verdict.remarks,
        *remarks,
        *overridden,
    )


def compare_with_previous(
    vault: Vault,
    address: Address,
    export: Export,
    taken_at: datetime,
    parameters_of: Callable[[Snapshot], bytes],
) -> Comparison | None:
    """Compare an export with the snapshot before it in time; None where there is none.

    Call it before the export is recorded; `parameters_of` gives a snapshot's parameters.yaml.
    """
    previous = vault.index.latest_at(address, microseconds(taken_at))
    if previous is None:
        return None
    before = State(previous.id[:10], vault, address, previous)
    if previous.record.normalisation == export.version:
        text = parameters_of(previous)
    else:  # by the rules of today, so that only what changed on the drive differs
        text = before.parameters_text
    axis_text = vault.read(layout.axis_file(address))
    left = AxisView(
        f"{previous.id[:10]}: parameters.yaml",
        text,
        previous.record.family,
        lambda: export.definitions,
        nameplate=previous.record.nameplate,
        axis_text=axis_text,
        read_axis=_read_axis,
        may_lack=lambda: before.coverage.may_lack,
        defaults=lambda: defaults_of(before),
        read_policy=lambda: policy_of(vault),
    )
    right = AxisView(
        export.file,
        export.parameters_text,
        export.family_name,
        lambda: export.definitions,
        nameplate=export.nameplate,
        axis_text=axis_text,
        read_axis=_read_axis,
        may_lack=lambda: export.coverage.may_lack,
        defaults=lambda: export.coverage.defaults,
    )
    return compare(left, right)


def _read_axis(text: bytes) -> AxisRecord:
    return cached_axis(text, "axis.yaml")


def with_drift(vault: Vault, ingested: Ingested) -> Ingested:
    """Add how the axis stands to its golden baseline, or why that cannot be told."""
    try:
        return replace(ingested, drift=drift_if_any(vault, ingested.snapshot.address))
    except Exception as error:  # the export is in, whatever is wrong with the baseline
        axis = str(ingested.snapshot.address)
        told = error if isinstance(error, VaultError) else internal_error(error, axis)
        why = f"how it stands to the golden baseline cannot be told: {told}"
        return with_warnings(ingested, [why])


def with_warnings(ingested: Ingested, warnings: Iterable[str]) -> Ingested:
    """Add what else a reader should know."""
    return replace(ingested, warnings=(*ingested.warnings, *warnings))
