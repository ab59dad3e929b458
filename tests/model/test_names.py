"""Names of machines, axes and export files."""

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.errors import WrongUsage
from vault.model.names import Address, case_clash, checked_name, safe_file_name

# Reserved device names: Microsoft, "Naming Files, Paths, and Namespaces"; from memory.
DEVICES = ["CON", "PRN", "AUX", "NUL", "COM1", "COM9", "LPT1", "COM¹", "LPT³"]


@pytest.mark.parametrize(
    "name", ["lift", "glaze-line-1", "X1", "a.b_c-d", "1", "A" * 64, "console", "com10", "lock"]
)
def test_a_plain_name_may_be_used(name: str) -> None:
    assert checked_name(name, "axis") == name


@pytest.mark.parametrize(
    "name",
    ["", ".", "..", ".git", "-x", "_x", "a b", "a/b", "a\\b", "ä", "a\n", "A" * 65, "a:b", "x*"],
)
def test_a_name_with_other_signs_is_refused_saying_which_are_meant(name: str) -> None:
    with pytest.raises(WrongUsage, match="cannot name a machine") as caught:
        checked_name(name, "machine")
    assert "starting with a letter or digit" in str(caught.value.hint)


@pytest.mark.parametrize(
    "name", ["con", "CON", "nul", "Aux", "com1", "LPT9", "con.axis", "nul.x.y", "lift.", "x.lock"]
)
def test_a_name_that_some_systems_reserve_is_refused(name: str) -> None:
    with pytest.raises(WrongUsage) as caught:
        checked_name(name, "axis")
    assert "reserved" in str(caught.value.hint)


def test_an_address_is_read_and_written_as_machine_slash_axis() -> None:
    address = Address.parse("glaze-line-1/lift")
    assert (address.machine, address.axis) == ("glaze-line-1", "lift")
    assert str(address) == "glaze-line-1/lift"


@pytest.mark.parametrize("text", ["lift", "", "/lift", "m/", "m/a/b", "m//a", "../a", "m/con"])
def test_what_is_no_address_is_refused(text: str) -> None:
    with pytest.raises(WrongUsage):
        Address.parse(text)


def test_addresses_sort_by_machine_then_axis() -> None:
    texts = ["b/a", "a/z", "a/b"]
    assert [str(a) for a in sorted(map(Address.parse, texts))] == ["a/b", "a/z", "b/a"]


@pytest.mark.parametrize(
    ("given_name", "safe"),
    [
        ("lift 2024-05-14.dcf", "lift 2024-05-14.dcf"),
        ("Förderer Größe.csv", "Förderer Größe.csv"),
        ("C:\\Users\\x\\lift.dcf", "lift.dcf"),
        ("/home/x/lift.dcf", "lift.dcf"),
        ("a:b*c?.txt", "a_b_c_.txt"),
        ("tab\there.csv", "tab_here.csv"),
        ("hidden\u200bsign.csv", "hidden_sign.csv"),
        ("no utf-8 \udce4.csv", "no utf-8 _.csv"),
        ("lift.dcf. .", "lift.dcf"),
        (" .hidden", "hidden"),
        ("..", "export-"),
        ("", "export-"),
        (".git", "git"),
    ],
)
def test_a_file_name_stays_as_close_to_the_given_one_as_can_be(given_name: str, safe: str) -> None:
    assert safe_file_name(given_name) == safe


@pytest.mark.parametrize("device", DEVICES)
@pytest.mark.parametrize("ending", ["", ".csv", ".tar.gz", " .txt"])
def test_a_file_is_not_named_like_a_device(device: str, ending: str) -> None:
    assert safe_file_name(device + ending) == f"export-{device}{ending}"


@pytest.mark.parametrize("name", ["git~1", "GIT~1", "git~2"])
def test_a_file_is_not_named_like_the_short_name_of_git(name: str) -> None:
    assert safe_file_name(name) == f"export-{name}"


def test_a_long_name_keeps_its_ending() -> None:
    safe = safe_file_name("ü" * 200 + ".dcf")
    assert safe.endswith("ü.dcf")
    assert len(safe.encode()) <= 120


def test_a_name_that_is_cut_does_not_end_in_a_blank_that_some_systems_drop() -> None:
    assert safe_file_name("a" * 119 + " " + "b" * 40) == "a" * 119


@settings(deadline=None)
@given(st.text(max_size=300))
def test_any_name_becomes_one_that_every_system_takes(name: str) -> None:
    safe = safe_file_name(name)
    assert safe
    assert len(safe.encode()) <= 127
    assert not set(safe) & set('<>:"/\\|?*')
    assert not any(unicodedata.category(sign) in ("Cc", "Cs") for sign in safe if sign < "\x80")
    assert safe[0] not in " ." or safe.startswith("export-")
    assert safe == "export-" or safe[-1] not in " ."
    assert safe.split(".")[0].strip().upper() not in DEVICES


@settings(deadline=None)
@given(st.text(max_size=300))
def test_a_safe_name_is_its_own_safe_name(name: str) -> None:
    safe = safe_file_name(name)
    assert safe_file_name(safe) == safe


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ("lift/belt", None),
        ("lift/BELT", "'BELT' differs from 'belt'"),
        ("lift/LIFT", "'LIFT' differs from 'lift'"),
        ("Lift/new", "'Lift' differs from 'lift'"),
        ("LIFT/LIFT", "'LIFT' differs from 'lift'"),
        ("m2/Lift", None),
    ],
)
def test_a_name_and_the_one_it_differs_from_in_case_are_told_alike(
    wanted: str, said: str | None
) -> None:
    """The part that differs, against that part: also where a machine is called as its axis."""
    in_use = {"lift": ["belt", "lift"], "m2": ["belt"]}
    whole = said and f"{said} in upper and lower case only"
    assert case_clash(Address.parse(wanted), in_use, in_use.__getitem__) == whole
