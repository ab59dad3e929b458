"""What a file is: its format and its family. Families and exports are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from vault.formats import dcf, delimited
from vault.jobs.export import recognise as module
from vault.jobs.export.recognise import recognise
from vault.model.errors import Unreadable, WrongUsage
from vault.store.vault import FamilyFile

Export = Callable[..., str]
DCF = """\
[FileInfo]
[DeviceInfo]
VendorName=Grove
ProductName={product}
[1008]
ParameterName=Device name
DataType=0x0009
AccessType=ro
ParameterValue=x
"""
ELM = """\
schema: axisvault/family/1
name: elm
title: Elm drives (invented)
export: {format: dcf, nameplate: {DeviceInfo.ProductName: drive}, recognise: {drive: ^ELM-}}
parameters:
  "0x6065:00": {name: Window, type: UNSIGNED32}
"""


ELM_EXPORT = "{format: dcf, nameplate: {DeviceInfo.ProductName: drive}, recognise: {drive: ^ELM-}}"


@pytest.fixture
def hazel(family_text: str) -> FamilyFile:
    return FamilyFile("hazel", family_text.encode())


def named(family: FamilyFile, name: str) -> FamilyFile:
    """The same dictionary as another family."""
    return FamilyFile(name, family.content.replace(b"name: hazel", f"name: {name}".encode()))


def dcf_of(product: str) -> bytes:
    return DCF.format(product=product).encode()


def test_a_family_that_is_given_is_believed_whatever_the_file_looks_like(
    hazel: FamilyFile,
) -> None:
    recognised = recognise(b"anything", "a.csv", hazel)
    assert (recognised.family, recognised.format) == (hazel, delimited)
    assert (recognised.content, recognised.file) == (b"anything", "a.csv")


def test_of_the_known_families_the_one_that_fits_is_taken(
    hazel: FamilyFile, export_text: Export
) -> None:
    other = FamilyFile("birch", hazel.content.replace(b"^HZ-", b"^BI-"))
    recognised = recognise(export_text().encode(), "a.csv", known=[other, hazel])
    assert recognised.family == hazel


def test_where_several_fit_the_usual_one_goes_first(hazel: FamilyFile, export_text: Export) -> None:
    content, families = export_text().encode(), [hazel, named(hazel, "birch")]
    assert recognise(content, "a", known=families, usual="birch").family == families[1]
    for usual in (None, "yew"):
        with pytest.raises(WrongUsage, match="several families: hazel, birch") as caught:
            recognise(content, "a.csv", known=families, usual=usual)
        assert caught.value.hint == "--family NAME"


def test_a_text_of_no_known_family_is_told_from_what_is_no_export(export_text: Export) -> None:
    with pytest.raises(WrongUsage, match="belongs to no family of the vault") as caught:
        recognise(export_text().encode(), "a.csv")
    assert "axisvault family draft FILE" in str(caught.value)
    with pytest.raises(Unreadable, match="this is a file of another program") as unknown:
        recognise(b"\x00\x01\x02", "a.bin")
    assert (unknown.value.file, unknown.value.line) == ("a.bin", 1)


def test_a_file_that_describes_itself_needs_no_family(hazel: FamilyFile) -> None:
    recognised = recognise(dcf_of("ASH-1"), "a.dcf", known=[hazel])
    assert (recognised.family, recognised.format) == (None, dcf)


@pytest.mark.parametrize(("product", "name"), [("ELM-4", "elm"), ("ASH-1", None)])
def test_a_file_that_describes_itself_is_of_a_family_by_its_nameplate(
    product: str, name: str | None
) -> None:
    known = [FamilyFile("elm", ELM.encode())]
    family = recognise(dcf_of(product), "a.dcf", known=known).family
    assert (family.name if family else None) == name


def test_a_family_that_recognises_nothing_has_to_be_named() -> None:
    bare = FamilyFile("elm", ELM.replace(", recognise: {drive: ^ELM-}", "").encode())
    assert recognise(dcf_of("ELM-4"), "a.dcf", known=[bare]).family is None
    assert recognise(dcf_of("ELM-4"), "a.dcf", bare).family == bare


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_file_of_too_many_lines_is_refused_before_it_is_read(
    hazel: FamilyFile, monkeypatch: pytest.MonkeyPatch, end: str
) -> None:
    monkeypatch.setattr(module, "MAX_PARAMETERS", 5)
    elm = FamilyFile("elm", ELM.encode())
    keyed, fixed = (
        FamilyFile("elm", ELM.replace(ELM_EXPORT, export).encode())
        for export in ("{format: keyed}", "{format: fixed, columns: {code: 1-4, value: 5-9}}")
    )
    for family, most in ((hazel, 10), (keyed, 10), (fixed, 10), (elm, 60)):
        assert recognise((end * most).encode(), "a", family)
        with pytest.raises(Unreadable, match=f"{most + 1} lines; exports up to 5 parameters"):
            recognise((end * (most + 1)).encode(), "a", family)


@pytest.mark.parametrize(
    ("vendor", "product", "fits"),
    [("Grove", "ELM-4", True), ("Grove", "ASH-1", False), ("Wood", "ELM-4", False)],
)
def test_everything_that_a_family_recognises_has_to_fit(
    vendor: str, product: str, fits: bool
) -> None:
    text = ELM.replace("{DeviceInfo.ProductName: drive}", "{DeviceInfo.ProductName: drive, "
                       "DeviceInfo.VendorName: vendor}")  # fmt: skip
    text = text.replace("{drive: ^ELM-}", "{drive: ^ELM-, vendor: ^Grove$}")
    content = dcf_of(product).replace(b"Grove", vendor.encode())
    found = recognise(content, "a.dcf", known=[FamilyFile("elm", text.encode())]).family
    assert (found is not None) is fits
