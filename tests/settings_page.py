"""The manual's page of settings: every key of vault.yaml, axis.yaml and the like.

`python -m tests.reference` writes it from the schemas, and of axis.yaml from the form that
`axisvault axis template` fills in.
"""

from __future__ import annotations

import typing
from collections.abc import Iterator
from dataclasses import is_dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel

from vault.jobs.records.axis_template import FORM
from vault.model import (
    alert_channels,
    axis,
    controller_rule,
    hazard_policy,
    machine,
    site,
    trial,
    watch_rules,
)

PAGE = Path(__file__).parents[1] / "vault/manual/settings.md"
_HEAD = """\
# Settings: vault.yaml, axis.yaml, machine.yaml, trial.yaml, watch.yaml

Files that people write, as YAML. A key that is not known, or a value that cannot be, is refused
with its line. Quantities are written with their unit: `16 mm`, `90 d`, `3.2 N*m`.

This page is made from the schemas that the program itself uses: `python -m tests.reference`.
"""
SITE = (
    ("vault.yaml", "The site: `axisvault site show`, `axisvault site set vault.yaml`.",
     site.SiteRecord),
    ("approval", "What approving takes.", site.ApprovalPolicy),
    ("signing", "Signatures of commits; see [audit](audit.md).", site.SigningPolicy),
    ("hazards", "See [golden](golden.md).", hazard_policy.HazardPolicy),
    ("written", "See [numbers](numbers.md).", site.WrittenRecord),
    ("alerts", "Each entry of the list, of whatever kind.", alert_channels._Channel),
    ("alerts: webhook", "A POST of one CloudEvents 1.0 document.", alert_channels.WebhookChannel),
    ("alerts: email", "A plain text mail through a relay.", alert_channels.EmailChannel),
    ("alerts: syslog", "RFC 5424 by UDP: sent means handed over.", alert_channels.SyslogChannel),
    ("alerts: file", "One JSON line after the other.", alert_channels.FileChannel),
    ("alerts: apprise", "With the extra `axisvault[apprise]`.", alert_channels.AppriseChannel),
    ("token, password, url of apprise", "Where a secret is read: one of the two.",
     alert_channels.Secret),
)  # fmt: skip
AXIS = (
    ("mechanics: gearbox", "The ratio, as turns.", axis.Gearbox),
    ("duty", "What the axis does over and over.", axis.Duty),
    ("duty: moves", "Each entry of the list.", axis.Move),
    ("controller", "What of the controller's project is its axis: `match`, or one of the last two.",
     controller_rule.ControllerRule),
    ("controller: scale", "How the controller counts.", controller_rule.ControllerScale),
)  # fmt: skip
MACHINE = (
    ("machine.yaml", "What people say about a machine: `axisvault machine set M machine.yaml`.",
     machine.MachineRecord),
)  # fmt: skip
TRIAL = (
    ("trial.yaml", "What was tried on an axis: `axisvault trial template M/A`; see "
     "[trials](trials.md).", trial.TrialRecord),
    ("inputs", "By hand, while nothing moves.", trial.Inputs),
    ("direction", "At the slowest jog.", trial.Direction),
    ("jog", "Before anything moves by itself.", trial.Jog),
    ("brake", "With nobody beneath the load.", trial.BrakeTrial),
    ("moves", "Each entry of the list.", trial.TriedMove),
    ("home", "Homing, several times over.", trial.Homings),
    ("stops", "Each entry of the list.", trial.TriedStop),
    ("emergency_stop", "In motion; no acceptance of a safety function.", trial.Reaction),
)  # fmt: skip
WATCH = (
    ("watch.yaml", "In a watched folder; see [taking-in](taking-in.md).", watch_rules.WatchRules),
    ("rules", "Each entry of the list.", watch_rules.WatchRule),
)  # fmt: skip
_AXIS_HEAD = """\
## axis.yaml

The axis as built. `axisvault axis template M/A --out axis.yaml` writes it with what is known,
`axisvault axis set M/A axis.yaml` puts it in. It begins with `schema: axisvault/axis/1`;
`controller` is described below.
"""


def settings_page() -> str:
    """The whole page."""
    parts = [_HEAD]
    for heading, words, model in SITE:
        parts += [f"## {heading}\n", f"{words}\n", *_table(model), ""]
    parts.append(_AXIS_HEAD)
    for section, words, lines in FORM:
        parts += [f"### {section or 'at the top'}\n", *([f"{words}.\n"] if words else [])]
        parts += ["| key | for example | meaning |", "|---|---|---|"]
        parts += [f"| `{key}` | `{_cell(like)}` | {_cell(words)} |" for key, like, words in lines]
        parts.append("")
    for heading, words, model in (*AXIS, *MACHINE, *TRIAL, *WATCH):
        parts += [f"## {heading}\n", f"{words}\n", *_table(model), ""]
    return "\n".join(parts).rstrip() + "\n"


def fields_of(model: Any) -> Iterator[tuple[str, str, Any]]:
    """Key, meaning and type of each. Raises KeyError for a key that nobody describes."""
    if is_dataclass(model):
        for key, kind in typing.get_type_hints(model, include_extras=True).items():
            if typing.get_origin(kind) is not typing.ClassVar:
                yield key, typing.get_args(kind)[1], float
        return
    assert issubclass(model, BaseModel)
    for key, field in model.model_fields.items():
        if not field.description:
            raise KeyError(f"{model.__name__}.{key} has no description")
        yield field.alias or key, field.description, field.annotation


def _table(model: Any) -> Iterator[str]:
    yield from ("| key | meaning |", "|---|---|")
    shared = model is not alert_channels._Channel and issubclass(model, alert_channels._Channel)
    told = alert_channels._Channel.model_fields if shared else {}
    for key, words, kind in fields_of(model):
        if key in told:
            continue
        names = ", ".join(f"`{_value(one)}`" for one in _choices(kind))
        yield f"| `{key}` | {_cell(words)}{f': {names}' if names else ''} |"


def _choices(kind: Any) -> tuple[Any, ...]:
    if typing.get_origin(kind) is Literal:
        return typing.get_args(kind)
    found = [_choices(one) for one in typing.get_args(kind)]
    return found[0] if found and typing.get_origin(kind) is not tuple else ()


def _value(value: Any) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _cell(words: str) -> str:
    return words.replace("|", "\\|")


def write() -> None:
    """Write the page."""
    PAGE.write_text(settings_page(), encoding="utf-8")
