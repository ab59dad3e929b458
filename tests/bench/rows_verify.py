"""Rows about verifying: everything, what is new, and the memory that it takes."""

from __future__ import annotations

from tests.bench.measure import axisvault, in_turn, own_peak_memory, program
from tests.bench.rows import FLAT, Figures, Reach, row, within
from tests.bench.stage import BY, Stage
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.state.selectors import resolve
from vault.jobs.verify.incremental import remember_verified, verify_new
from vault.jobs.verify.outcome import Verified
from vault.store.vault import Vault


@row(
    "verify",
    "verify a vault, every value computed again",
    "git fsck --strict on the same vault",
    within(5),
)
def verify_whole(stage: Stage) -> Figures:
    with Vault.open(stage.fleet) as vault:
        note = f"{vault.index.count():,} snapshots, both as programs"
    ours, other = in_turn(
        lambda: program(*axisvault("--vault", stage.fleet, "verify")),
        lambda: program("git", "fsck", "--strict", "--no-dangling", folder=stage.fleet),
        min(stage.runs, 3),
    )
    return Figures(ours, other, note=note)


@row(
    "verify-new",
    "verify one new snapshot of a vault that was verified",
    "git fsck --strict on the same vault",
    within(1),
)
def verify_one(stage: Stage) -> Figures:
    fsck = ("git", "fsck", "--strict", "--no-dangling", "--no-progress")
    with Vault.open(stage.fleet) as vault:
        remember_verified(vault)
        address = vault.index.axes()[0]
        latest = vault.latest(address)
        if latest is None:
            raise RuntimeError(f"{address} has no snapshot")
        path = stage.folder / latest.record.export_name
        path.write_bytes(resolve(vault, str(address)).export_content())
        ingest(vault, path, address, parse_visit(BY, override_reason="bench"))
        ours, other = in_turn(
            lambda: _good(verify_new(vault)),
            lambda: program(*fsck, folder=stage.fleet),
            min(stage.runs, 3),
        )
        return Figures(ours, other, note=f"{vault.index.count():,} snapshots")


def _good(found: Verified) -> None:
    if not found.ok:
        raise RuntimeError(f"the vault is not as it was recorded: {found.problems[:3]}")


@row(
    "verify-memory",
    "peak memory of verify, without that of git fsck",
    "the same with as many axes and a tenth of the snapshots",
    Reach(FLAT),
)
def verify_memory(stage: Stage) -> Figures:
    vaults = stage.fleet, stage.short_tree.vault
    ours, other = (own_peak_memory("--vault", vault, "verify") for vault in vaults)
    counts = []
    for path in vaults:
        with Vault.open(path) as vault:
            counts.append(f"{vault.index.count():,}")
    return Figures(ours, other, "B", f"{counts[0]} against {counts[1]} snapshots; flat")
