"""Afterwards: is every export in the vault, once, and is the vault as it was recorded?"""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.bench.measure import CHECKOUT
from tests.load.tally import Written
from vault.store.vault import Vault

_MOST_TOLD = 20


def snapshots(vault: Path) -> Counter[tuple[str, str]]:
    """How often each export is in a vault, by its axis and the digest of its bytes."""
    with Vault.open(vault) as opened:
        return Counter(
            (str(axis), snapshot.record.export_sha256)
            for axis in opened.index.axes()
            for snapshot in opened.index.snapshots(axis)
        )


def ids(vault: Path) -> set[str]:
    """Ids of all snapshots."""
    with Vault.open(vault) as opened:
        every = (opened.index.snapshots(axis) for axis in opened.index.axes())
        return {snapshot.id for some in every for snapshot in some}


def problems_of_writes(
    before: Counter[tuple[str, str]], vault: Path, writes: Sequence[Written]
) -> Iterator[str]:
    """What is lost, there twice, or there although nobody wrote it."""
    there, known = snapshots(vault), ids(vault)
    for one in writes:
        count = there[one.axis, one.digest]
        if one.snapshot is not None and not count:
            yield f"lost: {one.axis}, stored by {one.way} as {one.snapshot}"
        elif one.snapshot is not None and one.snapshot not in known:
            yield f"{one.axis} has the export, but no snapshot {one.snapshot}"
        elif count > 1:
            yield f"{count} times in the vault: {one.axis}, {one.digest[:10]}, by {one.way}"
    written = Counter((one.axis, one.digest) for one in writes)
    for axis, digest in before - there:
        yield f"lost: {axis}, {digest[:10]}, which was there before"
    for axis, digest in there - before - written:
        yield f"nobody wrote it: {axis}, {digest[:10]}"


def problems_of_vault(vault: Path) -> list[str]:
    """What `axisvault verify` finds, with the index and all."""
    command = [sys.executable, "-m", "vault", "--vault", str(vault), "verify"]
    done = subprocess.run(command, cwd=CHECKOUT, capture_output=True, text=True)
    if done.returncode == 0:
        return []
    said = [line for line in (done.stdout + done.stderr).splitlines() if line.strip()]
    return [f"verify leaves with {done.returncode}: {line}" for line in said[:_MOST_TOLD]]
