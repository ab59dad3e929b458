"""The encoder of a set against the one fitted and the stroke."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from tests.meaning.checks.sets import (
    CARRIAGE,
    LIFT,
    SCREW,
    Settings,
    complaints,
    the_complaint,
    view_of,
    with_mechanics,
)
from vault.model.parameters import Parameter

SLIDE = with_mechanics(SCREW, stroke="1000 mm")


# 2^8 revolutions x 16 mm / 4 = 1024 mm; 2^7 are 512 mm.
@pytest.mark.parametrize(("bits", "count"), [(8, 0), (7, 1)])
def test_the_multi_turn_range_is_held_against_the_stroke(bits: int, count: int) -> None:
    found = complaints("absolute_range", view_of({"encoder_multi_turn_bits": bits}, SLIDE))
    assert len(found) == count
    assert all("512 mm" in one.sentence and "1,000 mm" in one.sentence for one in found)


def test_bits_come_from_the_nameplate_where_the_set_has_none_and_from_the_record_else() -> None:
    short = {"encoder_multi_turn_bits": "7"}
    record = {**SLIDE, "encoder": {"multi_turn_bits": 7}}
    assert the_complaint("absolute_range", view_of({}, SLIDE, short)).look_at[0] == "nameplate"
    assert "axis.yaml: encoder" in the_complaint("absolute_range", view_of({}, record)).look_at
    assert not complaints("absolute_range", view_of({"encoder_multi_turn_bits": 12}, record, short))


@pytest.mark.parametrize("kind", [1, 4, 6])  # incremental, single-turn, used as incremental
def test_an_encoder_that_does_not_keep_its_place_need_not_reach(kind: int) -> None:
    settings = {"encoder_multi_turn_bits": 7, "encoder_type": kind}
    assert not complaints("absolute_range", view_of(settings, SLIDE))


def test_no_stroke_is_no_complaint() -> None:
    assert not complaints("absolute_range", view_of({"encoder_multi_turn_bits": 1}, SCREW))


BITS: Settings = {"encoder_single_turn_bits": 20, "encoder_multi_turn_bits": 12}


@pytest.mark.parametrize(
    ("single", "multi", "count"),
    [("20", "12", 0), ("24", "12", 1), ("20", "16", 1), ("24", "16", 2)],
)
def test_bits_in_the_set_are_those_of_the_nameplate(single: str, multi: str, count: int) -> None:
    nameplate = {"encoder_single_turn_bits": single, "encoder_multi_turn_bits": multi}
    assert len(complaints("encoder_bits", view_of(BITS, nameplate=nameplate))) == count


def test_bits_in_the_set_are_those_of_the_record_where_no_nameplate_tells() -> None:
    record = {"encoder": {"single_turn_bits": 23, "multi_turn_bits": 12}}
    found = the_complaint("encoder_bits", view_of(BITS, record))
    assert "20 single-turn bits" in found.sentence and "axis.yaml 23" in found.sentence
    assert not complaints("encoder_bits", view_of(BITS, record, {"encoder_single_turn_bits": "20"}))


def test_turns_that_the_set_does_not_use_are_no_contradiction() -> None:
    settings = {"encoder_multi_turn_bits": 0}
    record = {"encoder": {"multi_turn_bits": 12}}
    assert not complaints("encoder_bits", view_of(settings, record))


def test_the_drive_must_count_the_encoder_that_is_fitted() -> None:
    # 2^20 counted of 2^24: a sixteenth of every way.
    right = view_of(CARRIAGE, nameplate={"encoder_single_turn_bits": "20"})
    assert not complaints("encoder_resolution", right)
    wrong = view_of({**CARRIAGE, **BITS}, nameplate={"encoder_single_turn_bits": "24"})
    assert "0.0625 times" in the_complaint("encoder_resolution", wrong).sentence
    assert not complaints("encoder_bits", wrong)  # said once
    assert not complaints("encoder_resolution", view_of(CARRIAGE))


def test_a_label_of_the_maker_s_own_is_read_as_words() -> None:
    kind = Parameter("p/kind", "Encoder", 9, 9, "encoder_type", None, "Absolute multi-turn, 22 bit")
    settings: Settings = {"encoder_type": kind, "encoder_multi_turn_bits": 7}
    assert complaints("absolute_range", view_of(settings, SLIDE))


@pytest.mark.parametrize(("record", "consequence"), [(SCREW, "travel"), (LIFT, "hazard")])
def test_another_resolution_than_fitted_is_a_hazard_where_a_load_hangs(
    record: Mapping[str, Any], consequence: str
) -> None:
    bits = {"encoder_single_turn_bits": "19"}
    found = the_complaint("encoder_resolution", view_of(CARRIAGE, record, bits))
    assert found.consequence == consequence
    assert found.look_at == ("p/position_encoder_increments", "nameplate")
    assert [one.value for one in found.findings] == [str(2**20), str(2**19)]


# 16 mm / 4 = 4 mm a turn of the motor: 4000 steps of 1 um.
@pytest.mark.parametrize(
    ("counts", "closes", "consequence"),
    [
        (4000, True, None),
        (4001, True, "travel"),
        (8000, True, "hazard"),
        (8000, None, "hazard"),
        (8000, False, "travel"),
    ],
)
def test_the_ratio_of_two_encoders_is_that_of_the_machine(
    counts: int, closes: bool | None, consequence: str | None
) -> None:
    fitted = {"step": "1 um"} if closes is None else {"step": "1 um", "closes_position": closes}
    view = view_of({"additional_encoder_increments": counts}, {**SCREW, "load_encoder": fitted})
    found = complaints("load_encoder", view)
    assert [one.consequence for one in found] == ([] if consequence is None else [consequence])
    for one in found:
        assert "4,000" in one.sentence
        assert f"{counts:,}" in one.sentence
        assert one.look_at[0] == "p/additional_encoder_increments"
        assert float(one.findings[0].value) == pytest.approx(counts / 4000, rel=1e-6)
