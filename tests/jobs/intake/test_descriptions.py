"""A description is never taken for a drive's values; an XDC with values is. Invented files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome, Take
from tests.dcf_texts import TUNING, WINDOW, dcf
from tests.description_texts import CIP, ESI, XDC, XDD
from vault.jobs.export.recognise import recognise
from vault.model.errors import Refused, Unreadable
from vault.store.vault import FamilyFile

EDS = dcf(TUNING, WINDOW).replace("ParameterValue=6\n", "")


@pytest.mark.parametrize("text", [XDD, ESI, CIP, XDD.replace("Hazel", "actualValue")])
def test_a_description_is_not_taken_in(take: Take, text: str) -> None:
    with pytest.raises(Unreadable, match="a device description") as caught:
        take(text, name="lift.xml")
    assert caught.value.line == 1
    assert caught.value.hint


@pytest.mark.parametrize("text", [EDS, XDD, ESI, CIP])
def test_naming_a_family_does_not_make_a_description_an_export(text: str, family_text: str) -> None:
    hazel = FamilyFile("hazel", family_text.encode())
    with pytest.raises(Unreadable, match="what a drive has, not what it holds") as caught:
        recognise(text.encode(), "lift.txt", hazel)
    assert caught.value.line == 1
    assert caught.value.hint


def test_an_eds_is_not_taken_in(take: Take) -> None:
    with pytest.raises(Refused, match="holds no drive's values"):
        take(EDS, name="lift.eds")


def test_an_xdc_is_taken_in_with_roles_and_compared_with_the_next(
    take: Take, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    first = take(XDC, "2026-03-01", name="lift.xdc")
    assert first.parameters == 7  # the count of 6099h is none
    take(XDC.replace("0x00001388", "0x00001770"), "2026-03-02", name="lift.xdc")
    found = cli("--vault", tmp_path / "plant", "compare", "m1/lift@~1", "m1/lift", "--json").json
    (change,) = found["changes"]
    assert change["code"] == "0x6065:00"
    assert change["role"] == "following_error_window"
    assert (change["left"]["raw"], change["right"]["raw"]) == ("5000", "6000")


def test_an_xdc_that_is_cut_off_is_refused_with_its_line(take: Take) -> None:
    with pytest.raises(Unreadable, match="seems cut off") as caught:
        take(XDC[:-200], name="lift.xdc")
    assert caught.value.line
