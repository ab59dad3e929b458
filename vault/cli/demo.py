"""What the demo shows on the terminal: the three jobs with their answers, a drafted dictionary."""

from __future__ import annotations

from pathlib import Path

from vault.cli.printing import MARKS, print_comparison
from vault.cli.printing_tables import print_wrapped
from vault.cli.terminal import echo, echo_lines, secho
from vault.jobs.audit.audit import audit
from vault.jobs.audit.question import parse_question
from vault.jobs.baseline.drift import drift
from vault.jobs.demo import lived_in, unknown_drive
from vault.jobs.demo.demo import UNKNOWN_FAMILY, UNKNOWN_MACHINE
from vault.jobs.demo.lived_in import Acts
from vault.jobs.demo.unknown_drive import UnknownDrive
from vault.jobs.restore.controller_side import changed_program
from vault.jobs.restore.open_plans import open_plans
from vault.jobs.state.compare import compare_states
from vault.jobs.state.compare_machines import compare_machines
from vault.jobs.state.selectors import resolve
from vault.meaning.sentences import value_text
from vault.model.names import Address
from vault.model.wording import plural
from vault.model.written_form import written_as
from vault.store.vault import Vault

_RULE = "-" * 78
_SHOWN_ROLES = 3
_TWINS = ("glaze-line-1", "glaze-line-2")
_FAULT = ("kiln-loader/hoist", "F-11")


def demo_text(folder: Path, unknown: UnknownDrive, done: Acts, seconds: float) -> None:
    """Show the example vault."""
    with Vault.open(folder) as vault, written_as(vault.written_form):
        echo(f"The example vault of {vault.site} is in {folder}. All of it is invented.")
        axes = plural(len(vault.axes()), "axis", "axes")
        snapshots = plural(vault.index.count(), "snapshot")
        echo(f"{snapshots} of {axes}, built in {plural(round(seconds), 'second')}.")
        echo()
        _restore(vault)
        _compare(vault)
        _audit(vault)
        _state(vault, done)
        _unknown_drive(unknown)
        _comparison(vault, unknown_drive.SHOWN_COMPARISON)
    echo_lines(f"\n{_RULE}\nTry next:")
    for line in (
        f"export AXISVAULT={folder}",
        "axisvault drift",
        "axisvault history glaze-line-1/belt-feed",
        "axisvault compare glaze-line-1/lift@~2 glaze-line-1/lift@previous",
        f"axisvault family show {UNKNOWN_FAMILY}",
        "axisvault manual",
    ):
        echo(f"  {line}")
    echo()
    account = f"as {lived_in.ACCOUNT} with the password {done.password}, of this example alone"
    if done.password is None:
        account = (
            f"as {lived_in.ACCOUNT}; its password was shown once: axisvault user password demo"
        )
    echo(f"In a browser: axisvault --vault {folder} serve; log in {account}")


def _restore(vault: Vault) -> None:
    """The first job: a drive was swapped."""
    plan = lived_in.restore_plan(vault)
    _job(
        f"1. A dead drive: {plan.address} has a spare with a newer encoder",
        f"restore plan {plan.address} --out lift-plan --drive ALD-5A --firmware 2.43.1 "
        "--encoder-bits 24+12 --adapt",
    )
    for row in plan.hardware.corrections[:1]:
        print_wrapped(
            f"   {row.target.name}: {value_text(row.target)} must become "
            f"{value_text(row.loaded or row.offered)}: {row.reason}."
        )
    safety = plural(len(plan.never("safety")), "safety parameter")
    loaded = plural(len(plan.loaded), "parameter")
    print_wrapped(f"   Load file of {loaded}; {safety} never prepared.")
    if warning := changed_program(vault, plan.address, plan.target):
        print_wrapped(f"   !! {warning}.")
    for kept in open_plans(vault, plan.address):
        print_wrapped(f"   Answer: plan {kept.record.number} is made. Next: {kept.next_step}.")
    echo()


def _compare(vault: Vault) -> None:
    """The second job: two machines."""
    compared = compare_machines(vault, *_TWINS)
    left, right = _TWINS
    _job(f"2. Two machines: how does {left} differ from {right}?", f"compare {left} {right}")
    worst = compared.pairs[0]
    mark = MARKS[worst.worst] if worst.worst is not None else "ok"
    print_wrapped(f"   {mark} {worst.name}: {worst.counts_text}")
    print_wrapped(f"      {' '.join(worst.sentences)}")
    folded = plural(compared.expected, "value")
    print_wrapped(
        f"   Answer: look at the {worst.name} first, of {plural(len(compared.pairs), 'pair')}; "
        f"{folded} that must differ between machines are left out."
    )
    echo()


def _audit(vault: Vault) -> None:
    """The third job: a fault."""
    place, code = _FAULT
    answer = audit(vault, parse_question(place, fault=code))
    name = answer.fault.fault.name if answer.fault is not None else code
    _job(f"3. After a fault: why did {place} trip with {name}?", f"audit {place} --fault {code}")
    for suspect in answer.suspects[:1]:
        print_wrapped(f"   {MARKS[suspect.consequence]} {suspect.sentence}")
        print_wrapped(f"   Why: {suspect.why}.")
    ended = " ".join(repeat.sentence for repeat in answer.repeats)
    suspects = plural(len(answer.suspects), "change can explain it", "changes can explain it")
    print_wrapped(f"   Answer: {suspects}. {ended}")
    echo()


def _state(vault: Vault, done: Acts) -> None:
    """What else stands in the vault: what people of the plant left open."""
    found = drift(vault)
    drifted = [one for one in found if one.status == "drifted"]
    approved = sum(one.status != "no_golden" for one in found)
    sides = [Address.parse(one.axis).side for one in drifted]
    waivers = [waiver for one in found for waiver in vault.golden(Address.parse(one.axis)).waivers]
    print_wrapped(
        f"Left as people left it: {plural(approved, 'golden baseline')}, "
        f"{plural(sides.count('drive'), 'axis that drifted', 'axes that drifted')} and "
        f"{plural(sides.count('controller'), 'controller set', 'sets of controllers')} likewise, "
        f"{plural(len(waivers), 'waiver')} until {', '.join(one.until for one in waivers)}, "
        f"{plural(len(open_plans(vault)), 'open restore')}; alerts went to {done.alerts}."
    )
    echo()


def _job(title: str, command: str) -> None:
    secho(title, bold=True)
    echo(f"   $ axisvault {command}")


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
