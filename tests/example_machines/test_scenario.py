"""The invented tile works: its files hang together, and its story is what it says it is.

Exports are read here with `canopen` (DCF) and the standard library's `csv`, not with our own
readers, except where a test says that it is ours that is tried.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import canopen
import pytest

from example_machines import (
    CONTROLLERS_MANIFEST,
    DRAFTED_MANIFEST,
    EXPORTS,
    FAMILIES,
    FOLDER,
    MACHINES,
    MANIFEST,
    write_exports,
)
from vault.formats.registry import format_named
from vault.model.errors import WrongUsage
from vault.model.export import Listing
from vault.model.families import Family
from vault.model.normalise import Normalised, definitions, normalise
from vault.model.quantities import Measure, convert
from vault.store.files.edited_files import read_axis, read_family

ROWS = list(csv.DictReader(io.StringIO(MANIFEST.read_text("utf-8"))))
# Of the machine whose dictionary was drafted; `test_palletiser` looks at it.
LATER_ROWS = list(csv.DictReader(io.StringIO(DRAFTED_MANIFEST.read_text("utf-8"))))
PROJECT_ROWS = list(csv.DictReader(io.StringIO(CONTROLLERS_MANIFEST.read_text("utf-8"))))
AXES = sorted({f"{row['machine']}/{row['axis']}" for row in ROWS})
SERVO_AXES = [a for a in AXES if not a.endswith(("slurry-pump", "roller-bed"))]
FAMILY_NAMES = ("alder", "larch", "rowan")
# Family codes by meaning, to look into exports without a dictionary of ours.
CODES = {
    "alder": {
        "window": "6065:00", "low": "607D:01", "high": "607D:02", "kv": "2200:01",
        "forward": "2200:06", "speed": "607F:00", "encoder": "608F:01", "gear": "6091:01",
        "feed": "6092:01",
    },
    "rowan": {
        "window": "pos/lag-window", "low": "pos/limit-low", "high": "pos/limit-high",
        "kv": "ctl/position-gain", "forward": "ctl/speed-forward", "speed": "pos/speed-max",
        "encoder": "scl/encoder-steps", "gear": "scl/gear-motor", "feed": "scl/feed",
    },
    "larch": {
        "window": "mov-104", "low": "mov-121", "high": "mov-122", "kv": "reg-201",
        "forward": "reg-205", "speed": "mov-130", "encoder": "enc-402", "gear": "mov-110",
        "feed": "mov-112",
    },
}  # fmt: skip


def rows_of(address: str) -> list[dict[str, str]]:
    machine, axis = address.split("/")
    return [row for row in ROWS if (row["machine"], row["axis"]) == (machine, axis)]


def row_on(address: str, day: str) -> dict[str, str]:
    return next(row for row in rows_of(address) if row["taken_at"].startswith(day))


@cache
def family(name: str) -> Family:
    path = FAMILIES / f"{name}.yaml"
    return read_family(path.read_bytes(), str(path))


@cache
def dcf(file: str) -> dict[str, Any]:
    """Content of a DCF by `6065:00`, as the library canopen reads it."""
    found: dict[str, Any] = {}
    for index, entry in canopen.import_od(str(FOLDER / file)).items():
        if isinstance(entry, canopen.objectdictionary.ODVariable):
            found[f"{index:04X}:00"] = entry.value
        else:
            found |= {f"{index:04X}:{sub:02X}": member.value for sub, member in entry.items()}
    return found


def table(file: str, encoding: str, delimiter: str, first: str) -> list[dict[str, str]]:
    """Rows of a text export, from its headings on, as the standard library reads them."""
    lines = (FOLDER / file).read_bytes().decode(encoding).splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith(first))
    return list(csv.DictReader(lines[start:], delimiter=delimiter))


@cache
def independent(file: str, family_name: str, channel: str) -> dict[str, Any]:
    """Content of an export by code: numbers as the file holds them, read without our readers."""
    if family_name == "alder":
        return dcf(file)
    if family_name == "rowan":
        rows = table(file, "windows-1252", ";", "Code;")
        return {row["Code"]: number(row["Value"].replace(",", ".")) for row in rows}
    rows = [r for r in table(file, "utf-16", "\t", "Axis\t") if r["Axis"] in ("", channel or "1")]
    return {row["Key"]: number(row["Content"].replace(",", "")) for row in rows}


def number(text: str) -> Any:
    return Decimal(text) if re.fullmatch(r"-?\d+(\.\d+)?", text) else text


def content(row: dict[str, str]) -> dict[str, Any]:
    return independent(row["file"], row["family"], row["channel"])


def ours(row: dict[str, str]) -> tuple[Listing, Normalised]:
    """An export as our own reader and normalisation take it."""
    dictionary = family(row["family"])
    export = format_named(dictionary.export.format).read(
        (FOLDER / row["file"]).read_bytes(),
        file=row["file"],
        dialect=dictionary.export,
        channel=int(row["channel"]) if row["channel"] else None,
    )
    return export, normalise(export, dictionary)


def live_codes(name: str) -> set[str]:
    known = definitions_of(name)
    return {code.removeprefix("0x") for code, one in known.items() if one.volatile}


def definitions_of(name: str) -> dict[str, Any]:
    row = next(row for row in ROWS if row["family"] == name)
    return definitions(ours(row)[0], family(name))


def settings(row: dict[str, str]) -> dict[str, Any]:
    live = live_codes(row["family"])
    return {code: value for code, value in content(row).items() if code not in live}


def changed(left: dict[str, str], right: dict[str, str]) -> set[str]:
    one, other = settings(left), settings(right)
    return {code for code in one.keys() | other.keys() if one.get(code) != other.get(code)}


def axis_record(address: str) -> Any:
    path = MACHINES / f"{address}.yaml"
    return read_axis(path.read_bytes(), str(path))


def millimetres(measure: Measure) -> Fraction:
    """A length in mm, an angle in degrees."""
    assert measure.unit is not None
    unit = "deg" if measure.unit in ("deg", "rev") else "mm"
    return convert(measure.value, measure.unit, unit)


def per_turn(mechanics: Any) -> Fraction:
    """Travel per shaft revolution in mm or degrees."""
    lengths = (mechanics.lead, mechanics.pulley_circumference, mechanics.pinion_circumference)
    return next((millimetres(length) for length in lengths if length), Fraction(360))


def set_unit(row: dict[str, str], held: dict[str, Any], travel: Fraction) -> Fraction:
    """Size in mm or degrees that the set claims for one step of a position.

    60A8h after CiA 303-2 (from memory): FAh is 10^-6, FCh 10^-4; 01h metre, B4h revolution.
    """
    if row["family"] == "alder":
        return {0xFA010000: Fraction(1, 1000), 0xFCB40000: travel / 10_000}[held["60A8:00"]]
    return Fraction(1) if row["family"] == "rowan" else Fraction(1, 1000)


def position(row: dict[str, str], name: str, travel: Fraction) -> Fraction:
    held = content(row)
    return Fraction(held[CODES[row["family"]][name]]) * set_unit(row, held, travel)


# The files


def test_the_generator_gives_exactly_the_committed_files() -> None:
    manifests = {name: write_exports.manifest(of) for name, of in write_exports.MANIFESTS.items()}
    manifests[write_exports.CONTROLLERS] = write_exports.controllers_manifest()
    generated = {**write_exports.exports(), **write_exports.projects(), **manifests}
    committed = {
        path.relative_to(FOLDER).as_posix(): path.read_bytes()
        for path in [*EXPORTS.rglob("*"), *FOLDER.glob("*.csv")]
        if path.is_file()
    }
    assert generated.keys() == committed.keys()
    assert [name for name in generated if generated[name] != committed[name]] == []


def test_the_generator_writes_what_it_gives(tmp_path: Path) -> None:
    files = {**write_exports.exports(), **write_exports.projects()}
    assert write_exports.write(tmp_path) == len(files)
    for manifest in (MANIFEST, DRAFTED_MANIFEST, CONTROLLERS_MANIFEST):
        assert (tmp_path / manifest.name).read_bytes() == manifest.read_bytes()


def test_the_manifests_name_existing_files_and_all_of_them() -> None:
    named = {row["file"] for row in (*ROWS, *LATER_ROWS, *PROJECT_ROWS)}
    assert all((FOLDER / name).is_file() for name in named)
    assert named == {
        path.relative_to(FOLDER).as_posix() for path in EXPORTS.rglob("*") if path.is_file()
    }


def test_there_are_at_least_ten_axes_with_four_to_eight_exports_each() -> None:
    counts = Counter(f"{row['machine']}/{row['axis']}" for row in ROWS)
    assert len(counts) >= 10
    assert {n for n in counts.values() if not 4 <= n <= 8} == set()


def test_every_axis_has_a_record_and_every_record_an_axis() -> None:
    records = {p.relative_to(MACHINES).with_suffix("").as_posix() for p in MACHINES.rglob("*.yaml")}
    assert records == {f"{row['machine']}/{row['axis']}" for row in (*ROWS, *LATER_ROWS)}


@pytest.mark.parametrize("address", AXES)
def test_an_axis_record_is_read_without_error(address: str) -> None:
    record = axis_record(address)
    assert record.mechanics is not None
    assert record.motor is not None


@pytest.mark.parametrize("address", AXES)
def test_exports_start_with_commissioning_and_are_dated_in_order(address: str) -> None:
    rows = rows_of(address)
    assert rows[0]["occasion"] == "commissioning"
    times = [datetime.fromisoformat(row["taken_at"]) for row in rows]
    assert times == sorted(times)
    assert (times[0].year, times[-1].year) >= (2019, 2025)


def test_times_carry_central_european_offsets() -> None:
    """Summer time from the last Sunday of March to that of October (from memory)."""
    for row in (*ROWS, *LATER_ROWS):
        taken = datetime.fromisoformat(row["taken_at"])
        ends = [datetime(taken.year, month, 31, 3, tzinfo=taken.tzinfo) for month in (3, 10)]
        start, end = (day - timedelta(days=(day.weekday() + 1) % 7) for day in ends)
        assert taken.utcoffset() == timedelta(hours=2 if start <= taken < end else 1), row


def test_everybody_has_an_invented_mail_of_the_tile_works() -> None:
    assert all(
        re.fullmatch(r"[\w ]+ <[\w.]+@tileworks\.example>", row["by"])
        for row in (*ROWS, *LATER_ROWS)
    )


# The families


@pytest.mark.parametrize("name", FAMILY_NAMES)
def test_a_family_has_120_parameters_variants_and_the_usual_faults(name: str) -> None:
    found = family(name)
    assert len(found.parameters) >= 120
    assert found.variants
    # IEC 61800-7-201 error codes, from memory: following error, DC link, current, encoder.
    assert {0x8611, 0x3210, 0x2310, 0x7305} <= {fault.standard for fault in found.faults.values()}


def test_the_same_labels_stand_for_other_numbers_in_other_families() -> None:
    numbers = {
        name: {
            number
            for parameter in family(name).parameters.values()
            for number, label in parameter.choices.items()
            if parameter.role == "digital_input_function" and label == "Negative over-travel"
        }
        for name in FAMILY_NAMES
    }
    assert len(set(map(frozenset, numbers.values()))) == 3


@pytest.mark.parametrize("name", FAMILY_NAMES)
def test_the_dictionary_agrees_with_what_the_exports_say_about_themselves(name: str) -> None:
    """Name, ends of the range and default of every parameter of every firmware."""
    for row in (row for row in ROWS if row["family"] == name):
        export, _ = ours(row)
        known = definitions(export, family(name))
        for entry in export.entries:
            if entry.code not in family(name).definitions(export.nameplate["firmware"]):
                assert entry.name == "Highest sub-index"
                continue
            one = known[entry.code]
            assert entry.name == one.name
            scale = one.scale if export.holds == "raw" else 1
            if one.data_type is not None and one.data_type.is_number and not one.choices:
                assert entry.default is not None and not isinstance(entry.default, str)
                assert entry.default * scale == one.default, entry.code
                for stated, kept in ((entry.low, one.low), (entry.high, one.high)):
                    if kept is not None:
                        assert stated is not None and not isinstance(stated, str)
                        assert stated * scale == kept, entry.code


# The exports


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['file']}:{row['channel']}")
def test_an_export_holds_120_parameters_and_our_reader_understands_every_line(
    row: dict[str, str],
) -> None:
    export, read = ours(row)
    assert len(content(row)) >= 120
    assert (read.skipped, read.warnings, read.unknown_codes) == ((), (), 0)
    assert len(read.parameters) >= 120
    known = {code.removeprefix("0x") for code in family(row["family"]).definitions(
        export.nameplate["firmware"])}  # fmt: skip
    assert known <= content(row).keys()


@pytest.mark.parametrize(
    "row", [r for r in ROWS if r["family"] == "alder"], ids=lambda r: r["file"]
)
def test_canopen_and_our_reader_find_the_same_numbers_in_a_dcf(row: dict[str, str]) -> None:
    read = {p.code.removeprefix("0x"): p.raw for p in ours(row)[1].parameters.values()}
    theirs = {code: value for code, value in content(row).items() if value is not None}
    assert {c: v for c, v in read.items() if c in theirs} == theirs


def test_an_export_of_two_axes_is_told_apart_by_channel() -> None:
    row = row_on("kiln-loader/pusher", "2025")
    assert row["file"] == row_on("kiln-loader/shuttle", "2025")["file"]
    with pytest.raises(WrongUsage, match="channels 1, 2"):
        ours({**row, "channel": ""})
    pusher, shuttle = (
        ours(row_on(f"kiln-loader/{axis}", "2025"))[1].parameters for axis in ("pusher", "shuttle")
    )
    assert (pusher["net-807"].value, shuttle["net-807"].value) == ("pusher", "shuttle")
    assert pusher["pwr-602"].value == shuttle["pwr-602"].value == 400


def test_an_export_states_the_time_of_its_manifest_row() -> None:
    for row in (row for row in ROWS if row["family"] != "alder"):
        assert ours(row)[0].taken_at == row["taken_at"]


def test_routine_exports_differ_in_live_values_alone() -> None:
    earlier, later = (row_on("glaze-line-1/belt-feed", year) for year in ("2020", "2022"))
    assert changed(earlier, later) == set()
    assert content(earlier)["6064:00"] != content(later)["6064:00"]


def test_addresses_are_unique_on_a_machine() -> None:
    for machine in ("glaze-line-1", "glaze-line-2", "kiln-loader"):
        for code in ("2400:01", "bus/address", "net-801"):
            latest = [content(rows_of(a)[-1]) for a in AXES if a.startswith(f"{machine}/")]
            found = [held[code] for held in latest if code in held]
            assert len(found) == len(set(found))


# The numbers


@pytest.mark.parametrize("address", SERVO_AXES)
def test_the_machine_moves_as_far_as_commanded_at_commissioning(address: str) -> None:
    """k = (R_set G_set / F_set) / (R_real G_real / L_real) = 1 (CiA 402-2 factor group)."""
    row, mechanics = rows_of(address)[0], axis_record(address).mechanics
    held, travel = content(row), per_turn(mechanics)
    codes = CODES[row["family"]]
    gear = Fraction(mechanics.gearbox.motor, mechanics.gearbox.output)
    motor_turns = Fraction(held[codes["gear"]]) / Fraction(held[codes["feed"]])
    actual = motor_turns * travel / gear * Fraction(held[codes["encoder"]]) / 2**20
    assert actual == set_unit(row, held, travel)


@pytest.mark.parametrize("address", SERVO_AXES)
def test_software_limits_lie_between_the_hard_stops_at_commissioning(address: str) -> None:
    row, mechanics = rows_of(address)[0], axis_record(address).mechanics
    low, high = (position(row, end, per_turn(mechanics)) for end in ("low", "high"))
    below, above = millimetres(mechanics.hard_stop_low), millimetres(mechanics.hard_stop_high)
    assert below < low < high < above
    assert above - below == millimetres(mechanics.stroke)


@pytest.mark.parametrize("address", SERVO_AXES)
def test_the_window_is_wider_than_the_lag_at_the_highest_speed(address: str) -> None:
    """Steady lag (1 - f) v / Kv of a proportional position loop (common practice, no source)."""
    row, travel = rows_of(address)[0], per_turn(axis_record(address).mechanics)
    held, codes = content(row), CODES[row["family"]]
    steps = {
        "alder": (set_unit(row, held, travel), Fraction(1, 10), 1000),
        "rowan": (Fraction(1), Fraction(1), 100),
        "larch": (Fraction(1, 10), Fraction(1000, 60) / 100, 1000),  # 0.01 (m/min)/mm
    }
    speed_step, gain_step, whole = steps[row["family"]]
    speed = Fraction(held[codes["speed"]]) * speed_step
    gain = Fraction(held[codes["kv"]]) * gain_step
    lag = (1 - Fraction(held[codes["forward"]]) / whole) * speed / gain
    assert 0 < lag < position(row, "window", travel)


# The story


def test_belt_feed_a_trip_is_cured_by_a_wider_window_and_more_torque() -> None:
    rows = rows_of("glaze-line-1/belt-feed")
    after = row_on("glaze-line-1/belt-feed", "2024-02")
    before = rows[rows.index(after) - 1]
    assert after["occasion"] == "after-fault"
    assert content(after)["603F:00"] == 0x8611
    assert [content(r)["6065:00"] for r in (before, after, rows[-1])] == [2000, 20_000, 20_000]
    assert content(after)["6072:00"] > content(before)["6072:00"]
    widened = {"6065:00", "2340:02", "6072:00", "6073:00", "60E0:00", "60E1:00"}
    assert changed(before, after) == widened


def test_lift_the_replacement_has_other_bits_and_no_home_and_is_then_corrected() -> None:
    before, found, left = rows_of("glaze-line-1/lift")[-3:]
    assert (found["occasion"], left["occasion"]) == ("as-found", "as-left")
    held = [content(row) for row in (before, found, left)]
    assert held[0]["2020:01"] != held[1]["2020:01"] == held[2]["2020:01"]
    assert [h["2010:02"] for h in held] == [20, 24, 24]
    assert [h["608F:01"] for h in held] == [2**20, 2**20, 2**24]
    assert [h["607C:00"] for h in held] == [118_400, 0, 118_400]
    # One user unit against the encoder that is fitted: a sixteenth of what is meant.
    assert [Fraction(h["608F:01"], 2 ** h["2010:02"]) for h in held] == [1, Fraction(1, 16), 1]


def test_turntable_an_over_travel_input_is_unassigned_and_stays_so() -> None:
    rows = rows_of("glaze-line-1/turntable")
    functions = [content(row)["in/4"] for row in rows]
    assert functions == ["Negative over-travel"] * 4 + ["Not assigned"] * 3
    assert all(content(row)["in/3"] == "Positive over-travel" for row in rows)


def test_spray_carriage_another_user_unit_moves_exactly_as_before() -> None:
    """A user unit is F in motor revolutions times L / G (CiA 402-2 factor group)."""
    after = row_on("glaze-line-1/spray-carriage", "2022-03")
    before = row_on("glaze-line-1/spray-carriage", "2020-11")
    one, other = content(before), content(after)
    units = {"60A8:00", "60A9:00", "60AA:00", "60AB:00"}
    restated = changed(before, after) - units
    assert len(restated) >= 20
    assert units < changed(before, after)

    def per_unit(held: dict[str, Any]) -> Fraction:
        """Length of one user unit in mm on a 16 mm screw behind a gear of 4."""
        increments = Fraction(held["608F:01"] * held["6091:01"], held["6092:01"])
        return increments / (2**20 * Fraction(4, 16))

    assert (per_unit(one), per_unit(other)) == (Fraction(16, 10_000), Fraction(1, 1000))
    for code in restated:
        assert one[code] * per_unit(one) == other[code] * per_unit(other), code
    roles = {family("alder").parameters[f"0x{code}"].unit for code in restated}
    in_user_units = {"user_position", "user_velocity", "user_acceleration", "user_jerk"}
    assert roles == in_user_units


def test_shuttle_new_firmware_counts_filters_ten_times_finer() -> None:
    before, after = (row_on("kiln-loader/shuttle", year) for year in ("2021", "2023"))
    assert content(after)["reg-233"] == 10 * content(before)["reg-233"]
    values = [ours(row)[1].parameters["reg-233"].value for row in (before, after)]
    assert values[0] == values[1]


@pytest.mark.parametrize("axis", ["belt-feed", "spray-carriage", "lift", "turntable"])
def test_twins_were_tuned_apart(axis: str) -> None:
    one, other = rows_of(f"glaze-line-1/{axis}")[-1], rows_of(f"glaze-line-2/{axis}")[-1]
    codes = CODES[one["family"]]
    assert content(one)[codes["gear"]] == content(other)[codes["gear"]]
    assert len(changed(one, other)) >= 5
