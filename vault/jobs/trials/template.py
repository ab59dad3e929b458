"""A form for trial.yaml: what is asked of the axis, in the safe order, to be filled in at it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from textwrap import wrap
from typing import TYPE_CHECKING

from vault.jobs.trials.form import CAUTIONS, TrialForm, suggested_text, trial_form
from vault.model.trial import SCHEMA
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from vault.meaning.trials.questions import Question
    from vault.model.names import Address
    from vault.store.vault import Vault

_WIDTH = 98
_HEAD = """\
# A trial of {address}: what is tried, in the safe order.
{cautions}
# Set in force: snapshot {snapshot} of {taken}{golden}.
# Write behind each colon: {results}. What stays empty stays open.
# Then: axisvault trial add {address} FILE
schema: {schema}
taken_at:   # 2026-03-01 14:30; left empty, it is when the trial is added
by:   # "Name <mail>"; left empty, it is who adds it
note:   # "what a reader should know"
"""
_GOLDEN = {
    True: ", which is the golden baseline",
    False: ", not the golden baseline",
    None: "",  # none is approved
}
_RESULTS = "ok, failed, not_done"
_MAY_LACK = "; not_there, where the axis has none"
_TAIL = """
# What was seen, by check
remarks:
  # brake.holds: "sank 2 mm, then held"
"""


def trial_template(vault: Vault, address: Address) -> bytes:
    """The form of an axis, as YAML. Raises WrongUsage where it has no parameter set."""
    form = trial_form(vault, address)
    snapshot = form.state.snapshot
    assert snapshot is not None, "the form is of a snapshot"
    head = _HEAD.format(
        address=form.address,
        cautions="\n".join(line for text in CAUTIONS for line in _comment(text)),
        snapshot=snapshot.id[:10], taken=minute_text(snapshot.record.taken_at),
        golden=_GOLDEN[form.is_golden],
        results=_RESULTS, schema=SCHEMA,
    )  # fmt: skip
    return (head + "".join(_sections(form)) + _TAIL).encode()


def _comment(text: str, indent: str = "") -> list[str]:
    return wrap(text, _WIDTH, initial_indent=f"{indent}# ", subsequent_indent=f"{indent}# ")


def _sections(form: TrialForm) -> Iterator[str]:
    """The questions under their keys; one that is asked twice over has its heading once."""
    heading = ""
    by_key = groupby(form.questions, lambda question: question.key.partition(".")[0])
    for key, found in by_key:
        questions = list(found)
        if questions[0].section != heading:
            heading = questions[0].section
            yield f"\n# --- {heading} ---\n"
        if questions[0].answered == "tick":
            yield f"{key}:\n"
            for question in questions:
                yield from _tick(question)
            yield from _MORE.get(key, ())
            continue
        for question in questions:
            yield from _lines(_comment(f"{question.ask} {question.hint}".strip()))
            yield from _measured(form, question)


_MORE = {
    "brake": (
        "  torque:   # the torque that the motor pushed with: 3 N*m, or 60 % of its rating\n",
    ),
    "emergency_stop": (
        "  from:   # the speed that it began at\n",
        "  way:   # how far the axis went\n",
        "  time:   # how long it took: 120 ms\n",
    ),
}


_BY_POSITIONS = (
    "  # or by positions: {from: 0 mm, to: 10 mm, measured: 9.98 mm, accuracy: 0.1 mm}\n"
)


def _tick(question: Question) -> Iterator[str]:
    yield from _lines(_comment(f"{question.ask} {question.hint}".strip(), "  "))
    remark = f"   # {_RESULTS}{_MAY_LACK}" if question.may_lack else ""
    yield f"  {question.key.partition('.')[2]}:{remark}\n"


def _measured(form: TrialForm, question: Question) -> Iterator[str]:
    if question.answered == "moves":
        yield "moves:\n"
        for move in form.moves:
            yield f"  - {{commanded: {suggested_text(move)}, measured: }}\n"
        yield _BY_POSITIONS.replace("mm", form.way_unit)
    elif question.answered == "readings":
        yield "home:\n  readings: []   # [0.01 mm, 0.02 mm, 0.01 mm]\n".replace("mm", form.way_unit)
        allowed = f" {suggested_text(form.allowed)}" if form.allowed is not None else ""
        source = "the position window of the set; " if allowed else ""
        yield f"  allowed:{allowed}   # {source}how far apart they may lie\n"
    elif question.answered == "stops":
        yield "stops:\n"
        for stop in form.stops:
            said = f"   # set and record say {stop.expected}" if stop.expected else ""
            yield f"  - {{from: {suggested_text(stop.speed)}, way: , by: quick_stop}}{said}\n"
        if not form.stops:
            yield f"  # - {{from: 100 {form.speed_unit}, way: , by: quick_stop}}\n"
        yield "  # by: quick_stop, fault or ramp\n"
    else:
        most = f"   # set and record say {form.drop} at most" if form.drop else ""
        yield f"drop:{most}\n"


def _lines(lines: list[str]) -> Iterator[str]:
    yield from (f"{line}\n" for line in lines)
