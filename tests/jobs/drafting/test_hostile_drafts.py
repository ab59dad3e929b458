"""Names of files and cells that would write themselves into a drafted dictionary. All invented."""

import io
import zipfile

import pytest

from vault.jobs.drafting.draft import ExportFile, draft
from vault.jobs.drafting.draft_text import draft_text
from vault.model.errors import Unreadable, WrongUsage
from vault.store.files.edited_files import read_family

TABLE = "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\nP2;Quick stop;2000;mm/s^2\n"
EVIL = "a.csv\nvariants: [{firmware: '>=0', parameters: {P2: {role: quick_stop_deceleration}}}]\n#"


@pytest.mark.parametrize(
    "name", [EVIL, "a\x1b[2J.csv", "a\x85b.csv", "a\u202eb.csv", "a\u2028b.csv"]
)
def test_a_name_in_an_archive_stays_in_its_comment(name: str) -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr(name, TABLE)
    text = draft_text(draft([ExportFile(packed.getvalue(), "x.zip")], "oak"))
    assert text.decode().splitlines()[1].startswith("# Every guess")
    family = read_family(text, "oak.yaml")
    assert (family.variants, family.faults) == ((), {})
    assert all(parameter.role is None for parameter in family.parameters.values())


@pytest.mark.parametrize("name", ["x\nfaults: {a: {name: b}}", "Oak", "", "a b", "oak\n"])
def test_a_name_that_no_family_can_have_is_refused_at_once(name: str) -> None:
    with pytest.raises(WrongUsage, match="no name for a family"):
        draft([ExportFile(TABLE.encode(), "a.csv")], name)


@pytest.mark.parametrize(
    "cell",
    ["Lag # role: brake_used", "Lag}, P9: {name: x", 'Lag" role', "Lag\u0085x", "*a", "&b c"],
)
def test_a_name_of_a_parameter_is_a_name_and_nothing_else(cell: str) -> None:
    content = TABLE.replace("Lag limit", f'"{cell.replace(chr(34), chr(34) * 2)}"').encode()
    family = read_family(draft_text(draft([ExportFile(content, "a.csv")], "oak")), "oak.yaml")
    assert list(family.parameters) == ["P1", "P2"]
    assert family.parameters["P1"].role is None


def test_an_archive_of_many_files_is_to_be_unpacked_first() -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for number in range(21):
            archive.writestr(f"{number}.csv", TABLE)
    with pytest.raises(Unreadable, match="21 files in this archive"):
        draft([ExportFile(packed.getvalue(), "x.zip")], "oak")
