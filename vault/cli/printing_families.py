"""How it looks what a dictionary makes of exports, what a description adds, what may be live."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from vault.cli.printing_tables import print_wrapped
from vault.cli.terminal import echo, secho
from vault.model.wording import plural

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vault.jobs.drafting.describe_family import Described
    from vault.jobs.families.learn import Learnt
    from vault.jobs.families.try_dictionary import Tried, TriedExport

_SHOWN = 12


def print_tried(tried: Tried) -> None:
    """Each export, what was read of it and what was not."""
    family = tried.dictionary.family
    for remark in tried.dictionary.problems:
        echo(f"!! {tried.dictionary.name}, line {remark.line}: {remark.text}: {remark.reason}")
    for number, one in enumerate(tried.exports):
        if number:
            echo()
        secho(one.file, bold=True)
        _print_export(one, family.export.format, is_open=family.open)


def _print_export(one: TriedExport, form: str, *, is_open: bool) -> None:
    if (error := one.error) is not None:
        place = f"line {error.line}: " if error.line else ""
        hint = f" ({error.hint})" if error.hint else ""
        print_wrapped(f"!! Refused: {place}{error.message}{hint}")
        for problem in error.problems:
            print_wrapped(f"   line {problem.line}: {problem.text}: {problem.reason}")
    if one.written_back is None:  # it could not be listed
        return
    encoded = f", {one.encoding}" if one.encoding else ""
    axis = f", axis {one.channel}" if one.channel is not None else ""
    echo(f"Read as {form}{encoded}{axis}: {plural(one.read, 'parameter')}.")
    for line in one.refused:
        print_wrapped(f"!! line {line.line}: {line.text}: {line.reason}")
    if one.refused:
        echo(f"{plural(len(one.refused), 'line')} refused.")
    for warning in one.warnings:
        print_wrapped(f"?! {warning}")
    if one.nameplate:
        print_wrapped(f"Nameplate: {', '.join(f'{key} {text}' for key, text in one.nameplate)}")
    if one.unknown:
        codes = ", ".join(one.unknown[:_SHOWN])
        more = f" and {len(one.unknown) - _SHOWN} more" if len(one.unknown) > _SHOWN else ""
        taken = ", taken in as the export states them" if is_open else ""
        print_wrapped(f"Not in the dictionary{taken}: {codes}{more}.")
    print_wrapped(_recognition(one))
    print_wrapped(_writing_back(one))
    waiting = ""
    if one.suggested:
        verb = "waits" if one.suggested == 1 else "wait"
        waiting = f", {one.suggested} of them with a suggested one that {verb} for a person"
    echo(f"{plural(one.without_role, 'parameter')} without a role{waiting}.")


def _recognition(one: TriedExport) -> str:
    if one.is_recognised:
        said = "It is recognised as this family's"
    elif one.not_fitting:
        said = f"It is not recognised: the pattern under {', '.join(one.not_fitting)} does not fit"
    else:
        said = "It is not recognised by itself: --family NAME goes with each ingest"
    if one.other_families:
        said += f". It looks like {', '.join(one.other_families)} too: make `recognise` narrower"
    return f"{said}."


def _writing_back(one: TriedExport) -> str:
    back = one.written_back
    if back is None or back.is_same is None:
        return f"It is not written back: {back.reason if back is not None else ''}."
    if back.is_same:
        return "Written back with its own values it is the same, byte for byte."
    return f"!! Written back with its own values it is not the same: {back.reason}."


def print_described(described: Described) -> None:
    """What a device description added, what was left out, and why."""
    secho(f"{described.what}: {described.title}".rstrip(": "), bold=True)
    for line in described.skipped[:_SHOWN]:
        print_wrapped(f"?! line {line.line}: {line.text}: {line.reason}")
    if (more := len(described.skipped) - _SHOWN) > 0:
        echo(f"and {more} more; --json lists them.")
    for code, texts in list(described.remarks.items())[:_SHOWN]:
        print_wrapped(f"?! {code}: {'; '.join(texts)}")
    if (more := len(described.remarks) - _SHOWN) > 0:
        echo(f"and {more} more; --json lists them.")
    counts = Counter(key for keys in described.keys.values() for key in keys)
    told = ", ".join(f"{key} of {count}" for key, count in counts.items())
    parameters = plural(len(described.keys), "parameter")
    echo(
        f"Added to {parameters}: {told}." if told else "It adds nothing that is not there already."
    )


def print_learnt(name: str, proposed: Sequence[Learnt], confirmed: Sequence[str]) -> None:
    """What may be live values, with an example each, or which are from now on."""
    if confirmed:
        echo(f"Live values of {name} from now on: {', '.join(confirmed)}.")
        return
    for one in proposed:
        print_wrapped(f"{one.code} {one.name}: differs in {one.differs} of {one.visits} visits")
        print_wrapped(f"   {one.example}")
    if not proposed:
        echo("No read-only parameter without a role differs between exports of one visit.")
    else:
        echo(f"If they are no settings: axisvault family learn {name} --confirm CODE")
