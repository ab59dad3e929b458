"""What people of the example plant did last: baselines, a waiver, trials, faults, a restore.

A step of its own behind the others: days are reckoned from now, so that a waiver ends soon whenever
somebody looks. All people and acts are invented.
"""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from datetime import timedelta
from importlib.resources import as_file, files
from pathlib import Path
from tempfile import TemporaryDirectory

from vault.jobs.accounts.accounts import add_account
from vault.jobs.alerts.deliver import deliver_from
from vault.jobs.alerts.raise_alerts import raise_alerts
from vault.jobs.baseline.golden import approve, waive
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.demo.demo import BY
from vault.jobs.faults.log import add_fault, parse_fault
from vault.jobs.records.edit import set_site
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.plan_folder import record_plan
from vault.jobs.restore.request import parse_plan_request
from vault.jobs.trials.add import add_trial_file
from vault.jobs.trials.trace import add_trace_file
from vault.model.names import Address
from vault.model.written_form import written_as
from vault.store.clock import now, time_text
from vault.store.files import layout
from vault.store.local.accounts import Accounts
from vault.store.vault import Vault

ACCOUNT = "demo"
_ENGINEER = "Henrike Solvang <henrike.solvang@tileworks.example>"
_TECHNICIAN = "Yara Okonjel <yara.okonjel@tileworks.example>"
_APPROVED = (
    ("glaze-line-1/belt-feed@~3", "before the belt was changed"),
    ("glaze-line-1/lift", "homed anew, tried with full tiles"),
    ("glaze-line-1/spray-carriage", "as produced"),
    ("glaze-line-1/turntable@~3", "with both over-travel switches"),
    ("glaze-line-2/belt-feed", "as produced"),
    ("glaze-line-2/lift", "tried after the brake was changed"),
    ("glaze-line-2/spray-carriage", "as produced"),
    ("glaze-line-2/turntable", "as produced"),
    ("kiln-loader/hoist", "new braking resistor, tried with full cars"),
    ("kiln-loader/pusher", "firmware 5.1.0, tried"),
    ("kiln-loader/shuttle@~2", "firmware 5.1.0, tried"),
    ("palletiser/mast@previous", "sixth layer, tried"),
    ("glaze-line-1/lift:controller@previous", "as accepted"),
    ("glaze-line-1/spray-carriage:controller", "faster by hand for cleaning, agreed"),
    ("glaze-line-1/belt-feed:controller", "as accepted"),
    ("glaze-line-1/turntable:controller", "as accepted"),
    ("glaze-line-2/lift:controller@first", "as accepted"),
    ("glaze-line-2/spray-carriage:controller@first", "as accepted"),
    ("glaze-line-2/belt-feed:controller@first", "as accepted"),
    ("glaze-line-2/turntable:controller", "as accepted"),
)
_WAIVED = ("glaze-line-1/belt-feed", "following_error_window", "2..20 mm")
_WAIVED_DAYS = timedelta(days=9)
_FAULTS = (
    ("palletiser/mast", "8611h", timedelta(hours=26), "mast stopped above the last layer"),
    ("glaze-line-2/lift", "3210h", timedelta(hours=3), "drive dead afterwards; a spare is fitted"),
)
_TRACED_MOVE = "there and back, fast and slow"
_TRACED = (
    ("glaze-line-1-lift.csv", "glaze-line-1/lift", "2025-11-19T09:20:00+01:00"),
    ("glaze-line-1-spray-carriage.csv", "glaze-line-1/spray-carriage", "2025-11-19T10:05:00+01:00"),
    ("kiln-loader-pusher.csv", "kiln-loader/pusher", "2025-10-16T08:40:00+02:00"),
    ("kiln-loader-pusher-worn.csv", "kiln-loader/pusher", "2026-03-03T07:15:00+01:00"),
)
_TRIED = ("glaze-line-1/lift", "glaze-line-1/turntable", "kiln-loader/pusher")
RESTORED = "glaze-line-2/lift"


@dataclass(frozen=True, slots=True)
class Acts:
    """What was left by them.

    `alerts` is the file that the alerts went into, `password` that of the account, which nobody
    can read again: None where the account was there already.
    """

    alerts: Path
    password: str | None


def add_acts(folder: Path) -> Acts:
    """Do all of it, in a vault that has the plant; what was done already stays."""
    alerts = folder.absolute().with_name(f"{folder.absolute().name}-alerts.jsonl")
    with Vault.open(folder) as vault, written_as(vault.written_form):
        if not vault.site_record.alerts:
            _approve(vault)
            _note_faults(vault)
            keep_trials(vault)
            record_traces(vault)
            record_plan(restore_plan(vault), _TECHNICIAN)
            _tell(vault, alerts)
            raise_alerts(vault)
        password = _account(vault.state)
    deliver_from(folder)
    return Acts(alerts, password)


def restore_plan(vault: Vault) -> RestorePlan:
    """The plan for the swapped drive: a newer firmware, and an encoder with 24 bits a turn."""
    request = parse_plan_request(
        RESTORED, drive="ALD-5A", firmware="2.43.1", encoder_bits="24+12", adapt=True
    )
    return make_plan(vault, request)


def _approve(vault: Vault) -> None:
    for selector, reason in _APPROVED:
        approve(vault, selector, _ENGINEER, reason)
    axis, parameter, allowed = _WAIVED
    request = parse_waiver_request(
        parameter,
        allow=allowed,
        until=f"{now() + _WAIVED_DAYS:%Y-%m-%d}",
        reason="the new belt stretches; to be tuned again when it has run in",
    )
    waive(vault, Address.parse(axis), request, _ENGINEER)


def keep_trials(vault: Vault) -> None:
    """What people tried at the axes, and wrote down there."""
    for axis in _TRIED:
        name = f"{axis.replace('/', '-')}.yaml"
        with as_file(files("example_machines") / "trials" / name) as path:
            add_trial_file(vault, Address.parse(axis), path, _TECHNICIAN)


def record_traces(vault: Vault) -> None:
    """Moves that were recorded; the pusher's before and after its belt wore."""
    for file, axis, taken_at in _TRACED:
        with as_file(files("example_machines") / "traces" / file) as path:
            add_trace_file(vault, Address.parse(axis), path, _TECHNICIAN, _TRACED_MOVE, taken_at)


def _note_faults(vault: Vault) -> None:
    for axis, code, ago, note in _FAULTS:
        at = time_text((now() - ago).replace(second=0, microsecond=0))
        add_fault(vault, Address.parse(axis), parse_fault(code, _TECHNICIAN, at=at, note=note))


def _tell(vault: Vault, alerts: Path) -> None:
    """Have messages go into a file beside the vault; putting it in confirms the channel here."""
    written = vault.read_required(layout.VAULT, vault.tip).decode()
    channel = f"alerts: [{{name: shift-desk, kind: file, path: {json.dumps(str(alerts))}}}]\n"
    with TemporaryDirectory() as place:
        edited = Path(place) / layout.VAULT
        edited.write_text(written + channel, encoding="utf-8")
        set_site(vault, edited, BY)


def _account(state: Path) -> str | None:
    """Make the account of the example vault; gives its password, which is made by chance."""
    with Accounts(state) as accounts:
        if accounts.find(ACCOUNT) is not None:
            return None
    password = secrets.token_urlsafe(9)
    add_account(state, ACCOUNT, _ENGINEER, "admin", password, by=BY)
    return password
