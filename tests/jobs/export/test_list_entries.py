"""What an export lists: limits, and the axis that is asked for."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from vault.jobs.export import list_entries as module
from vault.jobs.export.list_entries import list_entries
from vault.jobs.export.recognise import recognise
from vault.model.errors import Unreadable
from vault.store.vault import FamilyFile

Export = Callable[..., str]


@pytest.mark.parametrize(("most", "is_read"), [(24, True), (23, False)])
def test_an_export_of_too_many_parameters_is_refused(
    family_text: str,
    export_text: Export,
    monkeypatch: pytest.MonkeyPatch,
    most: int,
    is_read: bool,
) -> None:
    recognised = recognise(
        export_text().encode(), "a.csv", FamilyFile("hazel", family_text.encode())
    )
    monkeypatch.setattr(module, "MAX_PARAMETERS", most)
    if is_read:
        assert len(list_entries(recognised).entries) == 24
        return
    with pytest.raises(Unreadable, match="24 parameters; exports up to 23 are read") as caught:
        list_entries(recognised)
    assert caught.value.file == "a.csv"


def test_of_a_file_of_several_axes_the_one_asked_for_is_listed(family_text: str) -> None:
    columns = "  columns: {code: Code, name: Name, value: Value, unit: Unit}\n"
    assert columns in family_text
    text = family_text.replace(columns, columns + "  channel: {column: Axis}\n")
    content = b"Axis;Code;Name;Value;Unit\n1;set/1;S;1;\n2;set/1;S;2;\n"
    recognised = recognise(content, "a.csv", FamilyFile("hazel", text.encode()))
    for channel in (1, 2):
        listing = list_entries(recognised, channel)
        assert [(e.code, e.written, e.line) for e in listing.entries] == [
            ("set/1", channel, channel + 1)
        ]
