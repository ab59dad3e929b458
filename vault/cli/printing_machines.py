"""How one machine against another looks on a terminal."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from vault.cli.printing import COLOURS, MARKS
from vault.cli.printing_tables import print_marked, print_wrapped
from vault.cli.terminal import echo, secho
from vault.meaning.own_of_each import own_names
from vault.model.wording import plural

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.state.compare_machines import AxisPair, MachinesCompared
    from vault.model.names import Address

_FOLDED = "Folded away is what must differ between machines: {count} on {pairs}: {names}; {how}."


def print_machines(compared: MachinesCompared, *, everything: bool) -> None:
    """A line a pair with the counts of its classes, the worst first, and what the worst is."""
    secho(f"{compared.left} and {compared.right}", bold=True)
    echo()
    for pair in compared.pairs:
        _print_pair(pair, everything=everything)
    for machine, alone in compared.alone:
        if alone:
            print_wrapped(f"Only {machine} has {_listed(alone)}.")
    for axis, partner in compared.retired.items():
        print_wrapped(f"{axis} stands alone: {partner.shown[1]} is retired on {partner.shown[0]}.")
    if compared.without_snapshot:
        print_wrapped(f"Without a snapshot yet: {', '.join(map(str, compared.without_snapshot))}.")
    if compared.expected and not everything:
        print_wrapped(_folded(compared))


def _print_pair(pair: AxisPair, *, everything: bool) -> None:
    if pair.worst is None:
        print_marked("ok" if pair.is_alike else "??", None, f"{pair.name}: {pair.counts_text}")
    else:
        print_marked(MARKS[pair.worst], COLOURS.get(pair.worst), f"{pair.name}: {pair.counts_text}")
    for remark in pair.remarks:
        print_marked("   !!", None, remark)
    if not everything:
        if pair.sentences:
            print_wrapped(f"     {' '.join(pair.sentences)}")
        return
    for consequence, explanation in pair.differences:
        print_marked(f"   {MARKS[consequence]}", COLOURS.get(consequence), explanation)
    for own in pair.own:
        print_marked("   --", None, own)


def _listed(alone: Iterable[Address]) -> str:
    return ", ".join(address.axis for address in alone)


def _folded(compared: MachinesCompared) -> str:
    names = Counter(
        name
        for pair in compared.pairs
        for name in own_names(pair.apart.own_changes, pair.apart.own_places)
    )
    return _FOLDED.format(
        count=compared.expected,
        pairs=plural(sum(pair.expected > 0 for pair in compared.pairs), "pair"),
        names="; ".join(names),
        how="--all lists it",
    )
