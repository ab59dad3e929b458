"""An assessment of an axis as one compact text, which the index keeps until a file of it changes.

Changes are read back only where there are any: on most axes nothing has drifted.
"""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from vault.jobs.baseline.assess import Assessment
from vault.meaning.changes import Change, Difference, Finding
from vault.meaning.drift import Deviation
from vault.meaning.floors import UnkeptFloor
from vault.model.coverage import Coverage
from vault.model.export import SkippedLine
from vault.model.golden import Allowance, Waiver
from vault.model.names import Address
from vault.model.parameters import Parameter
from vault.model.quantities import Physical
from vault.store.clock import microseconds, moment_of, parse_time, time_text

if TYPE_CHECKING:
    from datetime import datetime

    from vault.model.export import Scalar

_VERSION = 3  # of the text: raised with every change of it, or of what it is made of


def assessment_text(found: Assessment) -> str:
    """Write an assessment: equal ones give equal texts."""
    return json.dumps(
        {
            "version": _VERSION,
            "golden": found.golden,
            "follows": found.follows.place if found.follows else None,
            "latest": found.latest,
            "taken": None if found.taken_at is None else microseconds(found.taken_at),
            "every": found.export_every,
            "settings": [_written_deviation(each) for each in found.settings],
            "causes": found.causes,
            "hardware": found.hardware,
            "since": _written_time(found.since),
            "until": _written_time(found.holds_until),
            "floors": [_written_floor(each) for each in found.floors],
            "covers": [
                _written_coverage(each) for each in (found.golden_coverage, found.latest_coverage)
            ],
        },
        separators=(",", ":"),
    )


def read_assessment(text: str) -> Assessment | None:
    """Read an assessment back; None where another version of this program wrote it."""
    found = json.loads(text)
    if found.get("version") != _VERSION:
        return None
    return Assessment(
        golden=found["golden"],
        follows=Address.parse(found["follows"]) if found["follows"] else None,
        latest=found["latest"],
        taken_at=None if found["taken"] is None else moment_of(found["taken"]),
        export_every=found["every"],
        settings=tuple(map(_deviation, found["settings"])),
        causes=tuple(found["causes"]),
        hardware=tuple(found["hardware"]),
        since=_time(found["since"]),
        holds_until=_time(found["until"]),
        golden_coverage=_coverage(found["covers"][0]),
        latest_coverage=_coverage(found["covers"][1]),
        floors=tuple(map(_floor, found["floors"])),
    )


def _written_floor(one: UnkeptFloor) -> list[Any]:
    return [
        one.name, str(one.floor), one.why, one.consequence, one.ratio, one.bound, one.missing,
    ]  # fmt: skip


def _floor(written: list[Any]) -> UnkeptFloor:
    name, floor, why, consequence, ratio, bound, missing = written
    return UnkeptFloor(name, Decimal(floor), why, consequence, ratio, bound, tuple(missing))


def _written_coverage(coverage: Coverage | None) -> list[Any] | None:
    """Empty for a complete one, which most are."""
    if coverage is None or coverage == Coverage():
        return None if coverage is None else []
    left_out = [[line.line, line.text, line.reason] for line in coverage.left_out]
    return [coverage.kind, left_out, coverage.defaults, coverage.warnings]


def _coverage(written: list[Any] | None) -> Coverage | None:
    if not written:
        return None if written is None else Coverage()
    kind, left_out, defaults, warnings = written
    lines = tuple(SkippedLine(*line) for line in left_out)
    return Coverage(kind, lines, tuple(defaults), tuple(warnings))


def _written_deviation(deviation: Deviation) -> list[Any]:
    change, waiver = deviation.change, deviation.waiver
    return [
        change.kind,
        change.consequence,
        _written_parameter(change.left),
        _written_parameter(change.right),
        _written_physical(change.left_physical),
        _written_physical(change.right_physical),
        _written_difference(change.difference),
        change.volatile,
        change.group,
        change.explanation,
        change.more,
        [[f.quantity, f.value, f.unit, f.basis] for f in change.findings],
        change.cause,
        None if change.ratio is None else str(change.ratio),
        None
        if waiver is None
        else [
            waiver.code, waiver.allow.text, waiver.until, waiver.by, time_text(waiver.at),
            waiver.reason,
        ],
    ]  # fmt: skip


def _deviation(written: list[Any]) -> Deviation:
    (
        kind, consequence, left, right, left_physical, right_physical, difference,
        volatile, group, explanation, more, findings, cause, ratio, waiver,
    ) = written  # fmt: skip
    change = Change(
        kind,
        consequence,
        _parameter(left),
        _parameter(right),
        _physical(left_physical),
        _physical(right_physical),
        _difference(difference),
        volatile,
        group,
        explanation,
        more,
        tuple(Finding(*each) for each in findings),
        cause,
        None if ratio is None else Fraction(ratio),
    )
    return Deviation(change, None if waiver is None else _waiver(*waiver))


def _waiver(code: str, allow: str, until: str, by: str, at: str, reason: str) -> Waiver:
    return Waiver(code, Allowance.parse(allow), until, by, parse_time(at), reason)


def _written_parameter(parameter: Parameter | None) -> list[Any] | None:
    if parameter is None:
        return None
    return [
        parameter.code, parameter.name, _written(parameter.value), _written(parameter.raw),
        parameter.role, parameter.unit, parameter.label,
    ]  # fmt: skip


def _parameter(written: list[Any] | None) -> Parameter | None:
    if written is None:
        return None
    code, name, value, raw, *rest = written
    return Parameter(code, name, _scalar(value), _scalar(raw), *rest)


def _written(value: Scalar) -> int | str | list[str]:
    """A value in JSON: a decimal stands in a list, to tell it from a text."""
    return [str(value)] if isinstance(value, Decimal) else value


def _scalar(written: int | str | list[str]) -> Scalar:
    return Decimal(written[0]) if isinstance(written, list) else written


def _written_physical(size: Physical | None) -> list[Any] | None:
    return None if size is None else [str(size.ratio), size.pi_power, size.kind, size.unit]


def _physical(written: list[Any] | None) -> Physical | None:
    if written is None:
        return None
    ratio, *rest = written
    return Physical(Fraction(ratio), *rest)


def _written_difference(difference: Difference | None) -> list[str | None] | None:
    if difference is None:
        return None
    relative = difference.relative
    relative_text = None if relative is None else str(relative)
    return [str(difference.absolute), relative_text, difference.unit]


def _difference(written: list[Any] | None) -> Difference | None:
    if written is None:
        return None
    absolute, relative, unit = written
    return Difference(Decimal(absolute), None if relative is None else Decimal(relative), unit)


def _written_time(moment: datetime | None) -> str | None:
    return None if moment is None else time_text(moment)


def _time(written: str | None) -> datetime | None:
    return None if written is None else parse_time(written)
