"""EDS as a description, held against the library canopen. All objects are invented."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import canopen
import pytest

from tests.library_files import written
from vault.formats.describe.description import DescribedParameter, Description
from vault.formats.describe.eds import read_eds
from vault.model.datatypes import BY_NAME
from vault.model.errors import Unreadable

EDS = """[FileInfo]
FileName=hazel.eds
FileVersion=3
EDSVersion=4.0
Description=Invented drive for tests
[DeviceInfo]
VendorName=Invented
ProductName=Hazel 5
OrderCode=HZ-5
[MandatoryObjects]
SupportedObjects=1
1=0x1000
[OptionalObjects]
SupportedObjects=4
1=0x1014
2=0x1A00
3=0x6065
4=0x6099
[ManufacturerObjects]
SupportedObjects=2
1=0x2010
2=0x2020
[1000]
ParameterName=Device type
ObjectType=0x7
DataType=0x0007
AccessType=const
DefaultValue=0x00020192
PDOMapping=0
[1014]
ParameterName=COB-ID EMCY
DataType=0x0007
AccessType=rw
DefaultValue=$NODEID+0x80
[1A00]
ParameterName=TPDO mapping
ObjectType=0x9
SubNumber=2
[1A00sub0]
ParameterName=Number of mapped objects
DataType=0x0005
AccessType=rw
DefaultValue=1
[1A00sub1]
ParameterName=First mapped object
DataType=0x0007
AccessType=rw
DefaultValue=0x60410010
[6065]
ParameterName=Following error window
ObjectType=0x7
DataType=0x0007
AccessType=rww
LowLimit=0
HighLimit=1000000
DefaultValue=5000
PDOMapping=1
[6099]
ParameterName=Homing speeds
ObjectType=0x8
SubNumber=3
[6099sub0]
ParameterName=Highest sub-index
DataType=0x0005
AccessType=const
DefaultValue=2
[6099sub1]
ParameterName=Speed for switch
DataType=0x0007
AccessType=rw
[6099sub2]
ParameterName=Speed for index
DataType=0x0004
AccessType=wo
LowLimit=0x80000000
DefaultValue=-7
[2010]
ParameterName=Notch
ObjectType=0x8
CompactSubObj=3
DataType=0x0006
AccessType=rw
DefaultValue=40
HighLimit=400
PDOMapping=1
[2010Name]
NrOfEntries=1
2=Second notch
[2020]
ParameterName=Name of the axis
DataType=0x0009
AccessType=rw
"""


@pytest.fixture(scope="module")
def hazel() -> Description:
    return read_eds(EDS.encode(), file="hazel.eds")


def of_library(text: str) -> Iterator[tuple[str, Any]]:
    source: Any = io.StringIO(text)
    source.name = "a.eds"
    od: Any = canopen.import_od(source)
    for entry in od.values():
        for one in [entry] if hasattr(entry, "data_type") else entry.values():
            yield f"0x{one.index:04X}:{one.subindex:02X}", one


def by_code(description: Description) -> dict[str, DescribedParameter]:
    return {one.code: one for one in description.parameters}


# The library wants a name for every entry of a compact object.
ALL_NAMED = EDS.replace("2=Second notch", "1=First notch\n2=Second notch\n3=Third notch")
TEXTS = [ALL_NAMED, *(written(seed, description=True) for seed in range(5))]


@pytest.mark.parametrize("text", TEXTS)
def test_all_objects_are_those_of_the_library_with_or_without_default(text: str) -> None:
    described = by_code(read_eds(text.encode(), file="a.eds"))
    library = dict(of_library(text))
    for sub in (0, 2, 3):  # of a compact object the library knows the first entry only
        described.pop(f"0x2010:{sub:02X}", None)
        library.pop(f"0x2010:{sub:02X}", None)
    assert described.keys() == library.keys()
    for code, one in described.items():
        other = library[code]
        assert one.data_type is not None
        assert BY_NAME[one.data_type].number == other.data_type, code
        assert (one.low, one.high) == (other.min, other.max), code
        assert one.access == other.access_type.replace("rww", "rw"), code
        assert one.is_mappable == other.pdo_mappable, code
        assert one.name == other.name.rpartition(".")[2], code
        if code != "0x1014:00":  # it counts from node 0 where none is given
            assert one.default == other.default, code


def test_names_and_defaults_of_a_compact_object_are_its_own(hazel: Description) -> None:
    """CiA 306, from memory: the name of an entry that has none is the object's with its number."""
    described = by_code(hazel)
    entries = [described[f"0x2010:0{sub}"] for sub in range(4)]
    assert [one.name for one in entries] == [
        "Number of entries",
        "Notch1",
        "Second notch",
        "Notch3",
    ]
    assert [one.default for one in entries] == [3, 40, 40, 40]
    assert {one.group for one in entries} == {"Notch"}


def test_a_default_that_needs_the_node_id_is_left_out_and_its_object_stays(
    hazel: Description,
) -> None:
    assert by_code(hazel)["0x1014:00"].default is None
    assert not hazel.skipped


def test_a_part_stands_in_the_group_of_its_record(hazel: Description) -> None:
    described = by_code(hazel)
    assert described["0x6099:01"].group == "Homing speeds"
    assert described["0x6065:00"].group == ""


def test_what_only_counts_is_marked_and_a_mapping_s_length_is_a_setting(
    hazel: Description,
) -> None:
    counts = {one.code for one in hazel.parameters if one.is_count}
    assert counts == {"0x6099:00", "0x2010:00"}


def test_a_parameter_has_the_line_of_its_section(hazel: Description) -> None:
    lines = EDS.splitlines()
    for one in hazel.parameters:
        heading = lines[one.line - 1].strip("[]").lower()
        assert heading.startswith(one.code[2:6].lower())
    assert lines[by_code(hazel)["0x6099:02"].line - 1] == "[6099sub2]"


def test_the_device_is_named_by_the_head(hazel: Description) -> None:
    assert (hazel.kind, hazel.title) == ("eds", "Invented drive for tests")
    assert (hazel.vendor, hazel.product, hazel.version) == ("Invented", "HZ-5", "3")


def test_a_bad_default_is_told_and_its_object_stays() -> None:
    found = read_eds(EDS.replace("Value=5000", "Value=many").encode(), file="a.eds")
    (told,) = found.skipped
    assert told.text == "DefaultValue=many"
    assert by_code(found)["0x6065:00"].default is None
    assert by_code(found)["0x6065:00"].high == 1_000_000


def test_a_bad_default_that_many_share_is_told_once() -> None:
    found = read_eds(EDS.replace("Value=40", "Value=many").encode(), file="a.eds")
    assert [told.text for told in found.skipped] == ["DefaultValue=many"]
    assert by_code(found)["0x2010:01"].default is None


def test_of_a_configuration_only_what_it_describes_is_taken() -> None:
    text = EDS.replace("DefaultValue=5000", "DefaultValue=5000\nParameterValue=7")
    found = read_eds(text.encode(), file="a.dcf")
    assert found.kind == "dcf"
    assert by_code(found)["0x6065:00"].default == 5000


def test_what_holds_no_object_is_refused() -> None:
    with pytest.raises(Unreadable, match="no object in it"):
        read_eds(b"[FileInfo]\nFileName=a\n", file="a.eds")
