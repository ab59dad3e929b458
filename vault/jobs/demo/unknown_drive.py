"""The last step of the example vault: a machine with drives that nobody had a dictionary for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

from vault.jobs.demo.demo import BY, UNKNOWN_FAMILY, UNKNOWN_MACHINE, DemoBuilt
from vault.jobs.drafting.draft import Draft, ExportFile, draft
from vault.jobs.drafting.draft_text import draft_text
from vault.jobs.drafting.parameters import DraftParameter
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.edit import add_family, add_new_family, list_families, set_axis
from vault.model.names import Address
from vault.store.vault import FamilyFile, Vault

TITLE = "Hazel servo drives (invented)"
PERSON = "Henrike Solvang <henrike.solvang@tileworks.example>"
"""Who drafted the dictionary and settled its roles. Invented, as all here."""
SHOWN_COMPARISON = (f"{UNKNOWN_MACHINE}/mast@previous", f"{UNKNOWN_MACHINE}/mast")


@dataclass(frozen=True, slots=True)
class UnknownDrive:
    """What the draft made of the exports, what a person said to its roles, and the vault now.

    `confirmed` and `denied` are parameters whose suggested role waited.
    """

    draft: Draft
    confirmed: tuple[DraftParameter, ...]
    denied: tuple[DraftParameter, ...]
    built: DemoBuilt


def add_unknown_drive(folder: Path, progress: Callable[[int, int], None]) -> UnknownDrive:
    """Draft a dictionary, put it in, settle its roles, and take in the exports of the machine.

    What the vault has of it already stays.
    """
    with as_file(files("example_machines")) as example, Vault.open(folder) as vault:
        families = list_families(vault, lambda _: None)
        known = [file for file in families if file.name != UNKNOWN_FAMILY]
        drafted = draft_example(example, known)
        if len(known) == len(families):
            add_new_family(vault, draft_text(drafted), f"{UNKNOWN_FAMILY}.yaml", PERSON)
        add_family(vault, example / f"families/{UNKNOWN_FAMILY}.yaml", PERSON)
        for path in sorted((example / "machines" / UNKNOWN_MACHINE).glob("*.yaml")):
            set_axis(vault, Address.parse(f"{UNKNOWN_MACHINE}/{path.stem}"), path, BY)
        manifest = example / f"{UNKNOWN_MACHINE}.csv"
        outcome = ingest_tree(vault, example, BY, manifest, progress)
        if outcome.failures:
            raise outcome.failures[0]
        settled = vault.family_file(UNKNOWN_FAMILY).family.parameters
        roles = {code: parameter.role for code, parameter in settled.items()}
        return UnknownDrive(
            drafted,
            tuple(one for one in drafted.to_confirm if roles.get(one.code)),
            tuple(one for one in drafted.to_confirm if not roles.get(one.code)),
            DemoBuilt(vault.index.count(), len(vault.axes())),
        )


def draft_example(example: Path, known: list[FamilyFile]) -> Draft:
    """What a draft makes of the machine's exports beside the families that are known."""
    folder = example / "exports" / UNKNOWN_MACHINE
    exports = [
        ExportFile(path.read_bytes(), path.relative_to(folder).as_posix())
        for path in sorted(folder.rglob("*.xlsx"))
    ]
    return draft(exports, UNKNOWN_FAMILY, title=TITLE, others=known)
