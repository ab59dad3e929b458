"""Does the search know axes by what their snapshots and files say, and by nothing else?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.jobs.inspect.axis_texts import text_sources, texts_of
from vault.store.index import texts

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


def wrongly_found(vault: Vault) -> Iterator[Address]:
    """Axes, and machines under the empty name of one, that the index has other texts of than git.

    What a file says is entered by the next search: of one that changed since, nothing is wrong.
    """
    index = vault.index
    rest_on = index.ask(texts.files_entered)
    present = text_sources(vault)
    for address in sorted({*index.axes(), *rest_on, *index.ask(texts.axes_entered)}):
        records = (one.as_recorded.record for one in index.snapshots(address))
        said = {text for record in records for text in texts.of_snapshot(record)}
        is_right = said == _entered(vault, address, of_file=False)
        if is_right and address in present and rest_on.get(address) == present[address]:
            is_right = {*texts_of(vault, address)} == _entered(vault, address, of_file=True)
        elif address not in rest_on:
            is_right &= not _entered(vault, address, of_file=True)
        if not is_right:
            yield address


def _entered(vault: Vault, address: Address, *, of_file: bool) -> set[texts.Text]:
    return vault.index.ask(lambda database: texts.entered(database, address, of_file=of_file))
