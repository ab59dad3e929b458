"""How results look on a terminal: sentences first, worst first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from vault.cli.printing_margin_moves import print_first_moves, print_other_moves
from vault.cli.printing_tables import (
    print_coverage,
    print_marked,
    print_wrapped,
    taken_text,
)
from vault.cli.terminal import echo, secho
from vault.jobs.records.axis_edits import AxisEdit
from vault.meaning.margin_news import arranged
from vault.meaning.own_of_each import own_of_each_text, own_plates, set_apart
from vault.meaning.sentences import nothing_implausible, sentences, together_text, told_together
from vault.model.wording import plural
from vault.model.written_form import marked, minute_text

if TYPE_CHECKING:
    from vault.jobs.intake.ingest_tree import TreeIngested
    from vault.jobs.intake.report import Ingested
    from vault.jobs.state.compare import Compared
    from vault.meaning.changes import Change, Comparison, Surrounding
    from vault.meaning.checks import Complaint
    from vault.meaning.faults import FaultCode
    from vault.model.corrections import Correction
    from vault.model.fault_log import FaultEntry
    from vault.model.parameters import Parameter

    Beside = AxisEdit | Correction | tuple[FaultEntry, FaultCode | None]

_MOST = 12
_MOST_SHIFTED = 3
COLOURS = {"hazard": "red", "travel": "magenta", "dynamics": "yellow", "electrical": "cyan"}
MARKS = {
    "hazard": "!!", "travel": "<>", "unclassified": "??", "dynamics": "~~", "electrical": "==",
    "link": "::", "record": "..",
}  # fmt: skip
"""A mark of its own for every consequence, for black and white."""


def print_ingested(ingested: Ingested) -> None:
    """What became of an export."""
    snapshot = ingested.snapshot
    secho(
        f"{snapshot.address}: snapshot {snapshot.id[:10]} with "
        f"{plural(ingested.parameters, 'parameter')}",
        bold=True,
    )
    if skipped := snapshot.record.skipped:
        echo(f"Left out and recorded: {plural(len(skipped), 'line')}.")
    if ingested.comparison is None:
        echo("It is the first of this axis.")
    elif ingested.unchanged:
        echo("All settings are those of the snapshot before.")
    else:
        _print_sentences(ingested.comparison, most=_MOST)
    if ingested.drift is not None and ingested.drift.count:
        drifted = plural(ingested.drift.count, "parameter")
        secho(f"Not as approved: {drifted}; axisvault drift {snapshot.address}", fg="red")
    elif ingested.drift is not None:
        echo("In line with the golden baseline.")
    for one in ingested.drift.floors if ingested.drift is not None else ():
        print_wrapped(f"{MARKS[one.consequence]} {one.sentence}")


def print_tree(tree: TreeIngested) -> None:
    """What became of a tree of exports."""
    axes = plural(len(tree.axes), "axis", "axes")
    echo(f"Took in {plural(tree.taken, 'export')} of {axes}.")
    if tree.unchanged:
        echo(f"{tree.unchanged} of them changed no setting.")
    if tree.already_there:
        echo(f"{plural(tree.already_there, 'was', 'were')} in the vault already.")
    if tree.failures:
        echo(f"{len(tree.failures)} could not be taken in.")


def print_fault(entry: FaultEntry, code: FaultCode | None, axis: str = "") -> None:
    """A fault of the log."""
    name = f": {code.name}" if code is not None else ""
    secho(f"{axis}{minute_text(entry.at)}, fault {entry.code}{name}", bold=True)
    if entry.note:
        print_wrapped(entry.note)


def print_comparison(compared: Compared, *, everything: bool) -> None:
    """A semantic difference: margins that moved, causes with what they shift, then changes."""
    comparison = compared.comparison
    for side, state in (("left ", compared.left), ("right", compared.right)):
        when = f", {taken_text(state.record)}" if state.record else ""
        print_wrapped(f"{side}  {state.name}{when}")
    for side, state in (("Left", compared.left), ("Right", compared.right)):
        print_coverage(state, side)
    if compared.rereading is not None:
        print_wrapped(compared.rereading.sentence)
    echo()
    told = arranged(comparison.margins, two_axes=compared.sides is not None, everything=everything)
    print_first_moves(told, compared.sides)
    for cause in comparison.causes:
        mark = "##" if cause.shifts else "--"
        print_wrapped(f"{mark} {cause.code}: {cause.explanation}", bold_up_to=3 + len(cause.code))
        if not everything:
            _print_shifted([c for c in comparison.news if _folds(c) and c.cause == cause.name])
    wanted = comparison.changes if everything else comparison.news
    told_changes = [change for change in wanted if everything or not _folds(change)]
    surroundings, own = list(comparison.surroundings), ""
    in_vault = compared.left.export is None and compared.right.export is None
    if compared.sides is not None and in_vault and not everything:
        plates = own_plates(compared.left.nameplate, compared.right.nameplate)
        apart = set_apart(told_changes, surroundings, plates)
        told_changes, surroundings = list(apart.changes), list(apart.surroundings)
        own = own_of_each_text(apart.own_changes, apart.own_places)
    _print_changes(told_changes)
    print_surroundings(surroundings)
    if own:
        print_wrapped(f"{own}; --all lists them.")
    if wanted or comparison.surroundings:
        echo()
    print_other_moves(told, compared.sides, everything=everything)
    _print_counts(comparison, everything=everything)


def print_surroundings(surroundings: Iterable[Surrounding]) -> None:
    """What differs beside the parameters, worst first."""
    for around in surroundings:
        _print_row(around.consequence, around.explanation)


def _folds(change: Change) -> bool:
    """Whether a change is told under its cause."""
    return change.kind == "shifted" and change.cause is not None


def _print_shifted(shifted: Sequence[Change]) -> None:
    """The worst of what a cause shifts."""
    for change in shifted[:_MOST_SHIFTED]:
        mark, colour = MARKS[change.consequence], COLOURS.get(change.consequence)
        print_marked(f"   {mark}", colour, change.explanation)
    if (more := len(shifted) - _MOST_SHIFTED) > 0:
        echo(f"      and {more} more; --all lists them.")


def print_suspects(compared: Compared, fault: FaultCode) -> None:
    """What can explain a fault, best explanation first."""
    suspects = compared.suspects(fault)
    standard = f", standard code {fault.standard:04X}h" if fault.standard is not None else ""
    secho(f"{fault.code}: {fault.name}{standard}", bold=True)
    for suspect in suspects:
        mark = MARKS[suspect.change.consequence]
        secho(f"{mark} {marked(f'{suspect.score:.2f}')}", bold=True, nl=False)
        echo(f"  {suspect.code}")
        print_wrapped(f"   {suspect.change.explanation}")
        print_wrapped(f"   Why: {suspect.why}.")
    named = {suspect.code for suspect in suspects}
    others = sum(change.shown.code not in named for change in compared.comparison.news)
    if not suspects:
        echo("Nothing that differs explains this fault.")
    rest = plural(others, "other difference has", "other differences have")
    echo(f"{rest} nothing to do with it as far as is known.")


def print_complaints(
    complaints: Sequence[tuple[Complaint, Sequence[tuple[str, str]]]],
    parameters: Iterable[Parameter],
) -> None:
    """What is not plausible, worst first, each with the places to look at and their names."""
    for complaint, named in complaints:
        mark, colour = MARKS[complaint.consequence], COLOURS.get(complaint.consequence)
        secho(f"{mark} {complaint.consequence}", fg=colour, bold=True, nl=False)
        echo(f"  {complaint.rule}")
        print_wrapped(f"   {complaint.sentence}")
        places = (f"{place} {name}".strip() for place, name in named)
        print_wrapped(f"   See {'; '.join(places)}.")
    if not complaints:
        print_wrapped(nothing_implausible(parameters))


def _print_changes(changes: Iterable[Change]) -> None:
    """Each row with the mark of its consequence, what became of several alike in one."""
    for (consequence, is_live), members in groupby(changes, attrgetter("consequence", "volatile")):
        for alike in told_together(members):
            codes = ", ".join(change.shown.code for change in alike)
            beside = " (live value)" if is_live else ""
            _print_row(consequence, f"{codes}  {together_text(alike)}{beside}")


def _print_row(consequence: str, text: str) -> None:
    print_marked(MARKS[consequence], COLOURS.get(consequence), text)


def _print_counts(comparison: Comparison, *, everything: bool) -> None:
    counts = comparison.summary()
    by_class = [f"{counts[name]} {name} ({mark})" for name, mark in MARKS.items() if counts[name]]
    differ = plural(len(comparison.news), "differs", "differ")
    told = f": {', '.join(by_class)}; " if by_class else ", "
    equal = plural(counts["equal"], "is", "are")
    hidden = "" if everything else "; --all shows them"
    restated = f"{counts['restated']} only restated" if counts["restated"] else ""
    live = plural(counts["volatile"], "live value") if counts["volatile"] else ""
    folded = "".join(f", {text}" for text in (restated, live) if text)
    print_wrapped(f"{differ}{told}{equal} equal{folded}{hidden if folded else ''}.")


def _print_sentences(comparison: Comparison, most: int) -> None:
    for sentence in sentences(comparison, most):
        print_wrapped(f"  {sentence}")
