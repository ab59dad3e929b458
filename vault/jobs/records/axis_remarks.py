"""What is refused of an axis record beside its schema, and what a reader should know of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from vault.jobs.state.selectors import resolve, view_of
from vault.meaning.surrounding_consequences import same_address
from vault.meaning.surrounding_effects import as_built
from vault.model.errors import Unreadable
from vault.model.near_names import did_you_mean
from vault.store.files import yaml_text
from vault.store.files.axis_keys import homes_of

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord
    from vault.model.names import Address
    from vault.store.vault import Vault

_ADDRESSES = (
    ("controller_link", "node_address"),
    ("controller_link", "station_alias"),
    ("cabinet", "address_switches"),
)
_FREE = ("nameplate", "cabinet", "controller_link")


def check_floors(record: AxisRecord, content: bytes, file: str) -> None:
    """Floors stand under margins that there are. Raises Unreadable with file, line and key."""
    if not record.margins:
        return
    from vault.behaviour.facts import MARGINS
    from vault.meaning.floors import no_margins

    for name in no_margins(record.margins):
        line = yaml_text.line_of(content, ("margins", name)) or 1
        reason = f"margins.{name}: there is no such margin{did_you_mean(name, MARGINS)}"
        raise Unreadable(reason, file=file, line=line, hint="axisvault margins M/A lists them")
    for name, floor in record.margins.items():
        if floor < 1:
            line = yaml_text.line_of(content, ("margins", name)) or 1
            reason = f"margins.{name}: a floor is 1 or more; below 1 a margin is short anyway"
            raise Unreadable(reason, file=file, line=line, hint="as in margins: {stop_room: 1.2}")


def shared_address(
    address: Address, record: AxisRecord, others: Mapping[str, AxisRecord]
) -> Iterator[str]:
    """Two axes of a machine with one address on its link are one too many."""
    for section, key in _ADDRESSES:
        own = getattr(record, section).get(key)
        for name, other in others.items():
            theirs = getattr(other, section).get(key)
            if own is not None and same_address(theirs) == same_address(own):
                what = f"{address.shown[0]}/{name} has {key.replace('_', ' ')} {own} too"
                yield f"{what}: on one bus, one of them is wrong"


def misplaced(record: AxisRecord) -> Iterator[str]:
    """Keys under a section of free names that another section has: nothing reads them there."""
    for section in _FREE:
        for key in getattr(record, section):
            if homes := homes_of(key):
                yield f"{section}.{key} is kept and not reckoned with: it belongs under {homes}"


def doubts_of_duty(vault: Vault, address: Address) -> list[str]:
    """What of the duty that was recorded cannot be, with the latest set where there is one."""
    if (record := vault.axis_record(address)) is None or record.duty is None:
        return []
    from vault.meaning.checks import duty

    view = as_built(record)
    if vault.latest(address) is not None:
        view = view_of(resolve(vault, str(address)))
    rules = duty.duty_cycle, duty.duty_way_back, duty.duty_stroke, duty.duty_speed
    return [complaint.sentence for rule in rules for complaint in rule(view)]
