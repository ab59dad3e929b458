"""The audit: what changed around a fault."""

from __future__ import annotations

from pathlib import Path

import click

from vault.cli.open_vault import open_vault
from vault.cli.options import json_option, units_option
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo


@click.command(
    epilog='Example: axisvault audit kiln-loader/hoist --fault F-11 --at "2023-01-24 03:52"'
)
@click.argument("place", metavar="MACHINE[/AXIS]")
@click.option(
    "--from", "start", metavar="TIME", help="Begin of the period; a bare date: its begin."
)
@click.option("--to", "end", metavar="TIME", help="Its end, or of a day; default: now.")
@click.option("--fault", metavar="CODE", help="The drive's own code, or a standard one (8611h).")
@click.option(
    "--at", metavar="TIME",
    help="When it tripped, about: the nearest in the fault log; default: the last there.",
)  # fmt: skip
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR",
    help="Write the evidence into a new folder: report, exports, history, checksums.",
)  # fmt: skip
@units_option
@json_option
@click.pass_context
def audit(
    ctx: click.Context,
    place: str,
    start: str | None,
    end: str | None,
    fault: str | None,
    at: str | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Tell what happened to an axis or a machine, and what can explain a fault.

    Suspects are changes since the last state known to have been good, shifted values and
    implausible settings, each with a score between 0 and 1 and the reason. Without --from the
    period begins with that state, without a fault 90 days ago.
    """
    from vault.cli.printing_audit import print_audit
    from vault.jobs.audit.audit import audit as job
    from vault.jobs.audit.documents import audit_document
    from vault.jobs.audit.evidence import write_evidence
    from vault.jobs.audit.question import parse_question

    with open_vault(ctx) as vault:
        question = parse_question(place, start=start, end=end, fault=fault, at=at)
        answer = job(vault, question)
        document = write_evidence(vault, answer, out) if out is not None else audit_document(answer)
        if as_json:
            print_json(document)
            return
        print_audit(answer)
        if out is not None:
            echo(f"The evidence is in {out}; HOW-TO-CHECK.txt there says how to check it.")
