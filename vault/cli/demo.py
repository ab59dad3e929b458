"""What the demo shows on the terminal: one history, one comparison, and what to try next."""

from __future__ import annotations

from pathlib import Path

from vault.cli.printing import print_comparison, print_history
from vault.cli.terminal import echo, echo_lines, secho
from vault.jobs.demo.demo import SHOWN_COMPARISON, SHOWN_HISTORY
from vault.jobs.inspect.history import history
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import resolve
from vault.model.names import Address
from vault.model.wording import plural
from vault.store.vault import Vault

_RULE = "-" * 78


def demo_text(folder: Path) -> None:
    """Show the example vault."""
    left, right = SHOWN_COMPARISON
    with Vault.open(folder) as vault:
        echo(f"The example vault of {vault.site} is in {folder}. All of it is invented.")
        axes = plural(len(vault.axes()), "axis", "axes")
        echo(f"{plural(vault.index.count(), 'snapshot')} of {axes}.")
        echo()
        _title(f"axisvault history {SHOWN_HISTORY}")
        print_history(history(vault, Address.parse(SHOWN_HISTORY)), ())
        echo()
        _title(f"axisvault compare {left} {right}")
        print_comparison(
            compare_states(resolve(vault, left), resolve(vault, right)), everything=False
        )
    echo_lines(f"\n{_RULE}\nTry next:")
    for line in (
        f"export AXISVAULT={folder}",
        "axisvault axis list",
        "axisvault show glaze-line-1/lift",
        "axisvault compare glaze-line-1/spray-carriage glaze-line-2/spray-carriage",
        "axisvault history glaze-line-1/belt-feed --parameter following_error_window",
        "axisvault verify",
    ):
        echo(f"  {line}")


def _title(command: str) -> None:
    echo(_RULE)
    secho(f"$ {command}", bold=True)
    echo()
