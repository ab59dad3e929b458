"""The form for an axis record loads as it is and says what the record says. All is invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import BY, Outcome, Take
from tests.sweeps import part_of
from vault.jobs.records.axis_template import axis_template
from vault.jobs.records.edit import set_axis
from vault.model.axis import AxisRecord
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.store.files.edited_files import read_axis
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
Cli = Callable[..., Outcome]
Export = Callable[..., str]

names = st.text(min_size=1, max_size=8) | st.sampled_from(
    ["supply", "motor", "brake", "cabinet", "title", "drive", "address_switches", "node_address"]
)
values = (
    st.text(max_size=12)
    | st.integers()
    | st.booleans()
    | st.decimals(-1000, 1000, places=3)
    | st.sampled_from(["023", "1e3", "yes", "~", "a: b # c", "two\nlines", "- x"])
)
free = st.dictionaries(names, values, max_size=4)
records = st.fixed_dictionaries(
    {},
    optional={
        "title": st.text(max_size=20),
        "note": st.none() | st.text(max_size=30),
        "export_every": st.just("12 months"),
        "nameplate": free,
        "cabinet": free,
        "controller_link": free,
        "duty": st.sampled_from(
            [None, {"cycle": "12 s", "moves": [{"distance": "3 mm"}, {"distance": "-3 mm"}]}]
        ),
        "pair": st.just("m2/lift"),
        "margins": st.sampled_from([{}, {"stop_room": "1.2", "hold": 2}]),
        "force_protects": st.booleans(),
        "controller": st.sampled_from([None, {"instance": "Line1.Lift"}]),
        "brake": st.sampled_from([None, {}, {"fitted": False}, {"apply_time": "50 ms"}]),
        "encoder": st.sampled_from([None, {}, {"single_turn_bits": 20}]),
        "motor": st.sampled_from([None, {}, {"code": "x: #y", "rated_torque": "3.2 N*m"}]),
        "supply": st.sampled_from([{}, {"phases": None}, {"phases": 3, "voltage": "400 V"}]),
        "mechanics": st.sampled_from(
            [None, {"kind": "rack", "gearbox": {"motor": 2, "output": 1}, "counterbalance": "0.4"}]
        ),
    },
)


def form_of(record: AxisRecord | None) -> bytes:
    """The form for an axis of which nothing is known but its record."""
    vault = SimpleNamespace(
        axis_record=lambda _: record, latest=lambda _: None, case_clash=lambda _: None
    )
    return axis_template(cast(Vault, vault), LIFT)


@settings(deadline=None, max_examples=part_of(40, 2))
@given(records)
def test_the_form_of_a_record_is_that_record(sections: dict[str, Any]) -> None:
    record = AxisRecord.model_validate({"schema": "axisvault/axis/1", **sections})
    assert read_axis(form_of(record), "form") == record


def test_a_free_name_that_is_also_a_section_is_kept() -> None:
    plain = {"supply": "24 V", "brake": "own fuse"}
    record = AxisRecord.model_validate({"schema": "axisvault/axis/1", "cabinet": plain})
    assert read_axis(form_of(record), "form").cabinet == plain


def test_an_empty_section_says_how_to_fill_it_in() -> None:
    form = form_of(AxisRecord.model_validate({"schema": "axisvault/axis/1", "cabinet": {}}))
    assert b"\ncabinet: {}  # take the {} away" in form
    filled = form.replace(b"cabinet: {}", b"cabinet:").replace(b"#   address_sw", b"  address_sw")
    assert read_axis(filled, "filled").cabinet == {"address_switches": "23"}


@pytest.fixture
def rated(vault: Vault, tmp_path: Path, take: Take, export_text: Export) -> Vault:
    """A vault with an export that tells ratings: one in N*m, one as a share of another."""
    dictionary = tmp_path / "hazel.yaml"
    more = (
        "  mot/torque: {name: Rated torque, role: motor_rated_torque, type: UNSIGNED16,"
        " scale: 0.01, unit: N*m}\n"
        "  mot/current: {name: Max current, role: motor_max_current, type: UNSIGNED16, unit: '%'}\n"
    )
    dictionary.write_text(dictionary.read_text() + more)
    from vault.jobs.records.edit import add_family

    add_family(vault, dictionary, BY)
    rows = "mot/torque;Rated torque;3,20;N*m\r\nmot/current;Max current;300;%\r\n"
    take(export_text() + rows)
    return vault


def test_what_an_export_tells_for_certain_is_filled_in(rated: Vault) -> None:
    form = axis_template(rated, LIFT).decode()
    record = read_axis(form.encode(), "form")
    assert record.nameplate == {"drive": "HZ-04"}
    assert "  drive: HZ-04  # as exported\n" in form
    assert record.motor is not None
    assert str(record.motor.rated_torque) == "3.2 N*m"
    assert record.motor.max_current is None, "300 % of what is not told"
    assert form.count("# as exported") == 2


def test_what_an_export_tells_beside_a_record_waits_behind_its_mark(
    rated: Vault, tmp_path: Path
) -> None:
    path = tmp_path / "axis.yaml"
    path.write_text("schema: axisvault/axis/1\nmotor: {code: HM-7}\nnameplate: {drive: HZ-05}\n")
    set_axis(rated, LIFT, path, BY)
    form = axis_template(rated, LIFT).decode()
    assert read_axis(form.encode(), "form") == rated.axis_record(LIFT)
    assert '#   rated_torque: "3.2 N*m"  # so in the latest export\n' in form
    taken = form.replace('#   rated_torque: "3.2', '  rated_torque: "3.2')
    motor = read_axis(taken.encode(), "taken").motor
    assert motor is not None
    assert str(motor.rated_torque) == "3.2 N*m"
    assert "HZ-04" not in form, "what is recorded is not doubted here"


def test_the_form_goes_straight_into_the_vault(rated: Vault, cli: Cli) -> None:
    assert cli("axis", "template", LIFT, "--out", "form.yaml").code == 0
    done = cli("axis", "set", LIFT, "form.yaml", "--json")
    assert (done.code, done.json["unchanged"]) == (0, False)
    with Vault.open(rated.repository.path) as vault:
        record = vault.axis_record(LIFT)
    assert record is not None
    assert record.nameplate == {"drive": "HZ-04"}
    again = cli("axis", "template", LIFT, "--json").json
    assert read_axis(again["text"].encode(), "again") == record


def test_a_name_that_differs_in_its_case_only_gets_no_form(rated: Vault) -> None:
    with pytest.raises(WrongUsage, match="upper and lower case"):
        axis_template(rated, Address("m1", "Lift"))
