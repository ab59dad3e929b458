"""What the demo shows on the terminal: a history, comparisons, a drafted dictionary, what next."""

from __future__ import annotations

from pathlib import Path

from vault.cli.printing import print_comparison
from vault.cli.printing_logbook import print_logbook
from vault.cli.printing_tables import print_wrapped
from vault.cli.terminal import echo, echo_lines, secho
from vault.jobs.demo import unknown_drive
from vault.jobs.demo.demo import SHOWN_COMPARISON, SHOWN_HISTORY, UNKNOWN_FAMILY, UNKNOWN_MACHINE
from vault.jobs.demo.unknown_drive import UnknownDrive
from vault.jobs.logbook.book import logbook
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import resolve
from vault.model.names import Address
from vault.model.wording import plural
from vault.store.vault import Vault

_RULE = "-" * 78
_SHOWN_ROLES = 3


def demo_text(folder: Path, unknown: UnknownDrive) -> None:
    """Show the example vault."""
    with Vault.open(folder) as vault:
        echo(f"The example vault of {vault.site} is in {folder}. All of it is invented.")
        axes = plural(len(vault.axes()), "axis", "axes")
        echo(f"{plural(vault.index.count(), 'snapshot')} of {axes}.")
        echo()
        _title(f"axisvault history {SHOWN_HISTORY}")
        print_logbook(logbook(vault, Address.parse(SHOWN_HISTORY), ("snapshot",)))
        echo()
        _comparison(vault, SHOWN_COMPARISON)
        echo()
        _unknown_drive(unknown)
        _comparison(vault, unknown_drive.SHOWN_COMPARISON)
    echo_lines(f"\n{_RULE}\nTry next:")
    for line in (
        f"export AXISVAULT={folder}",
        "axisvault axis list",
        "axisvault show glaze-line-1/lift",
        "axisvault compare glaze-line-1/spray-carriage glaze-line-2/spray-carriage",
        "axisvault history glaze-line-1/belt-feed --parameter following_error_window",
        f"axisvault family show {UNKNOWN_FAMILY}",
        "axisvault verify",
    ):
        echo(f"  {line}")


def _comparison(vault: Vault, states: tuple[str, str]) -> None:
    left, right = states
    _title(f"axisvault compare {left} {right}")
    print_comparison(compare_states(resolve(vault, left), resolve(vault, right)), everything=False)


def _unknown_drive(unknown: UnknownDrive) -> None:
    """How a drive got its dictionary: what was found, what was asked, what a person said."""
    draft, person = unknown.draft, unknown_drive.PERSON.partition(" <")[0]
    echo(_RULE)
    secho("A drive that nobody had a dictionary for", bold=True)
    echo()
    exports = plural(len(draft.reads), "export")
    print_wrapped(
        f"The {UNKNOWN_MACHINE} came with drives whose exports no family here reads: workbooks "
        f"with German headings. `axisvault family draft` made the dictionary {UNKNOWN_FAMILY} from "
        f"{exports} of them:"
    )
    refused = plural(sum(len(read.problems) for read in draft.reads), "line")
    given = sum(parameter.role is not None for parameter in draft.parameters)
    print_wrapped(
        f"   found: sheet {draft.export['sheet']!r}, {plural(len(draft.parameters), 'parameter')}, "
        f"{refused} refused; {given} got a role whose change is no hazard"
    )
    for guess in draft.questions:
        print_wrapped(
            f"   to be looked at: {guess.about}: {guess.chosen!r}, {guess.confidence:.2f}"
        )
    waiting = draft.to_confirm
    print_wrapped(
        f"   asked: {plural(len(waiting), 'role')} whose change can be a hazard, or that was not "
        "sure; most depends on the first:"
    )
    for one in waiting[:_SHOWN_ROLES]:
        print_wrapped(
            f"      {one.code} {one.name}: {one.suggested[0].role}? "
            f"{one.suggested[0].confidence:.2f}"
        )
    print_wrapped(
        f"   said by {person}: {len(unknown.confirmed)} are right, {len(unknown.denied)} are not:"
    )
    for one in unknown.denied:
        print_wrapped(f"      {one.code} {one.name}: not {one.suggested[0].role}")
    print_wrapped("Then its exports were taken in, and the first comparison is:")
    echo()


def _title(command: str) -> None:
    echo(_RULE)
    secho(f"$ {command}", bold=True)
    echo()
