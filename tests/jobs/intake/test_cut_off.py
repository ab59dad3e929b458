"""The guard against a file that lost its end: what it is held against, and when. Invented data."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.conftest import Take
from vault.jobs.records.edit import add_family
from vault.model.errors import Refused
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
Export = Callable[..., str]
LISTS = (
    "[MandatoryObjects]\nSupportedObjects=0\n[OptionalObjects]\nSupportedObjects=0\n"
    "[ManufacturerObjects]\nSupportedObjects=0\n"
)
OBJECT = "[2010]\nParameterName=Tuning\nDataType=0x0007\nAccessType=rw\nParameterValue=6\n"


def without(text: str, *codes: str) -> str:
    """An export without some rows."""
    rows = [row for row in text.split("\r\n") if row.split(";")[0] not in codes]
    return "\r\n".join(rows)


@pytest.fixture
def commented(vault: Vault, family_text: str, tmp_path_factory: pytest.TempPathFactory) -> Vault:
    """A vault whose family hazel writes comments behind `#`."""
    path = tmp_path_factory.mktemp("family") / "hazel.yaml"
    path.write_text(family_text.replace("delimiter: ", "comment: '#'\n  delimiter: ", 1))
    add_family(vault, path, BY)
    return vault


def test_a_comment_at_the_end_is_missed_only_where_a_parameter_is_too(
    commented: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2") + "# end\r\n", "2026-03-01")
    take(export_text("3"), "2026-03-02")
    take(export_text("3") + "# end\r\n", "2026-03-03")
    with pytest.raises(Refused, match="had a comment after the last row, and this one has not"):
        take(without(export_text("3"), "set/20"), "2026-03-04")


def test_an_end_of_the_last_line_is_missed_even_where_every_parameter_is_there(
    take: Take, export_text: Export
) -> None:
    take(export_text("2"), "2026-03-01")
    with pytest.raises(Refused, match="had an end of the last line"):
        take(export_text("2").rstrip(), "2026-03-02")


def test_so_it_is_where_the_last_line_is_a_comment(
    commented: Vault, take: Take, export_text: Export
) -> None:
    """A comment that ends early says nothing of itself, unlike a row."""
    take(export_text("2") + "# end of 24 rows\r\n", "2026-03-01")
    with pytest.raises(Refused, match="had an end of the last line"):
        take(export_text("2") + "# end of", "2026-03-02")


def test_the_lists_of_a_file_that_describes_itself_are_missed(take: Take) -> None:
    take(LISTS + OBJECT, "2026-03-01", name="lift.dcf")
    with pytest.raises(Refused, match="had all three lists of objects, and this one has not"):
        take(OBJECT, "2026-03-02", name="lift.dcf")


def test_the_first_export_of_an_axis_is_held_against_one_of_another(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2"), "2026-03-01", to="m2/belt")
    with pytest.raises(Refused, match="had an end of the last line"):
        take(export_text("2").rstrip(), "2026-03-02")
    assert vault.index.count() == 1


def test_what_no_export_ever_had_is_not_missed(take: Take, export_text: Export) -> None:
    for day, to in ((1, "m2/belt"), (2, "m1/lift"), (3, "m1/lift")):
        take(export_text("2").rstrip(), f"2026-03-0{day}", to=to)
