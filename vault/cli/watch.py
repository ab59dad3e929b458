"""The command that watches a folder."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from vault.cli.open_vault import vault_folder
from vault.cli.options import by_option, person
from vault.cli.terminal import echo, echo_json, secho

if TYPE_CHECKING:
    from vault.jobs.watch.watcher import Dropped


@click.command(epilog="Example: axisvault watch /srv/drop --poll 20")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@by_option
@click.option(
    "--settle", type=click.FloatRange(min=0, max=3600), default=3.0, show_default=True,
    metavar="SECONDS", help="How long a file must not change to be complete.",
)  # fmt: skip
@click.option(
    "--poll", type=click.FloatRange(min=0.05, max=3600), metavar="SECONDS",
    help="Compare the folder with itself that often, as for network shares without events.",
)  # fmt: skip
@click.option("--once", is_flag=True, help="Take in what is complete now, and end.")
@click.option(
    "--json", "as_json", is_flag=True,
    help="Print one JSON document a line, one for each file, since the command does not end.",
)  # fmt: skip
@click.pass_context
def watch(
    ctx: click.Context,
    folder: Path,
    by: str | None,
    settle: float,
    poll: float | None,
    once: bool,
    as_json: bool,
) -> int:
    """Take in what is dropped into DIR, until stopped.

    Exports lie in DIR/machine/axis/, a controller's in DIR/machine/axis/controller/, or where the
    rules in DIR/watch.yaml say: a list `rules` of entries with folder, to, family, occasion, by,
    channel, node_id, work_order, of which the first that fits counts. A file is taken once it is
    complete, and moved to DIR/done/, or to DIR/refused/ with the reason beside it. What the vault
    has already is only moved: it can be stopped and started, or killed, at any time.
    """
    from vault.jobs.watch.watcher import PATIENCE_SECONDS, Watcher
    from vault.store.local.lock import WAIT_SECONDS

    watcher = Watcher(
        vault_folder(ctx),
        folder,
        person(by),
        settle=settle,
        tell=_print_json if as_json else _print,
        note=lambda text: echo(f"axisvault: note: {text}", err=True),
        patience=WAIT_SECONDS if once else PATIENCE_SECONDS,
    )
    with _stopped_by_signals(watcher.stop):
        if once:
            watcher.once()
        else:
            echo(f"axisvault: watching {folder}; Ctrl-C ends it", err=True)
            watcher.run(poll)
    return watcher.worst if once else 0


def _print_json(dropped: Dropped) -> None:
    from vault.jobs.watch.documents import dropped_document

    echo_json(dropped_document(dropped))


def _print(dropped: Dropped) -> None:
    if dropped.error is not None:
        outcome = f"refused: {dropped.error}"
    elif dropped.ingested is None:
        outcome = "the vault has it already"
    else:
        snapshot = dropped.ingested.snapshot
        outcome = f"taken in, {snapshot.address}, snapshot {snapshot.id[:10]}"
        for warning in dropped.ingested.warnings:
            echo(f"axisvault: note: {dropped.file}: {warning}", err=True)
    secho(f"{dropped.file}: {outcome}", fg="red" if dropped.error is not None else None)


@contextmanager
def _stopped_by_signals(stop: Callable[[], None]) -> Iterator[None]:
    """The first signal to end calls `stop`; a second one ends the process as ever."""
    before: dict[int, Any] = {}

    def restore() -> None:
        while before:
            signal.signal(*before.popitem())

    def handle(number: int, frame: Any) -> None:
        restore()
        stop()

    for number in (signal.SIGINT, signal.SIGTERM):
        before[number] = signal.signal(number, handle)
    try:
        yield
    finally:
        restore()
