"""The row about many axes side by side."""

from __future__ import annotations

from ruamel.yaml import YAML

from tests.bench.measure import seconds
from tests.bench.rows import Figures, faster, row
from tests.bench.stage import Stage
from vault.jobs.inspect.spread import spread
from vault.store.files import layout
from vault.store.vault import Vault

_LOADED = 50  # axes; all of them would take minutes


@row(
    "spread",
    "all axes side by side, the odd ones out",
    f"load all YAML with ruamel.yaml (C), by {_LOADED} of them",
    faster(20),
)
def spread_of_all(stage: Stage) -> Figures:
    with Vault.open(stage.fleet) as vault:
        axes = vault.axes()
        ours = min(seconds(lambda: spread(vault, "*")) for _ in range(2))
        texts = [
            vault.read_required(layout.parameters_file(axis), vault.tip) for axis in axes[:_LOADED]
        ]

    def load() -> None:
        yaml = YAML(typ="safe", pure=False)
        for text in texts:
            yaml.load(text)

    theirs = seconds(load) * len(axes) / len(texts)
    return Figures(ours, theirs, note=f"{len(axes):,} axes")
