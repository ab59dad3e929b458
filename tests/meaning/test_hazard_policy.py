"""What counts as a hazard is the site's choice: `hazards:` of vault.yaml."""

from __future__ import annotations

import pytest

from tests.behaviour.axes import LIFT_RECORD, LIFT_SET, view_of
from vault.behaviour.facts import Margin
from vault.meaning.classes import reason_of
from vault.meaning.compare import compare
from vault.meaning.margin_moves import MarginMove
from vault.model.errors import Unreadable
from vault.model.hazard_policy import HazardPolicy
from vault.store.files.edited_files import read_site

SITE = b"schema: axisvault/vault/1\nsite: Tile works\nhazards: "


def class_of_ramp(after: str, policy: HazardPolicy) -> str:
    """The class of a weaker quick stop ramp of the lift, before at 4000 mm/s^2."""
    sides = [
        view_of({**LIFT_SET, "quick_stop_deceleration": ramp}, LIFT_RECORD)
        for ramp in ("4000 mm/s^2", after)
    ]
    for side in sides:
        side.policy = policy
    (found,) = compare(*sides).changes
    return found.consequence


@pytest.mark.parametrize(
    ("share", "expected"), [(0.05, "dynamics"), (0.005, "hazard"), (0.5, "dynamics")]
)
def test_a_smaller_material_share_makes_a_hazard_of_a_small_loss(
    share: float, expected: str
) -> None:
    # A ramp 2.5 % weaker lengthens a stop by about as much: less than a twentieth of the room.
    assert class_of_ramp("3900 mm/s^2", HazardPolicy(material_share=share)) == expected


@pytest.mark.parametrize(
    ("before", "after", "comfort", "why"),
    [
        (1.8, 1.4, 1.5, "loses"), (1.8, 1.4, 1.3, None), (1.8, 1.6, 1.7, "loses"),
        (1.4, 1.35, 1.5, None), (1.2, 0.9, 1.0, "below"),
    ],
)  # fmt: skip
def test_above_the_comfort_ratio_a_margin_may_shrink(
    before: float, after: float, comfort: float, why: str | None
) -> None:
    sides = [
        Margin("stop_room", "stop", "protects", ratio, 1.0, "m", ratio, "exact", "")
        for ratio in (before, after)
    ]
    found = reason_of(MarginMove("stop_room", *sides), HazardPolicy(comfort_ratio=comfort))
    assert (found.why if found is not None else None) == why


def test_a_site_writes_its_own() -> None:
    found = read_site(SITE + b"{material_share: 0.02, comfort_ratio: 2}", "vault.yaml")
    assert found.hazards == HazardPolicy(0.02, 2)
    assert read_site(SITE.rpartition(b"\n")[0], "vault.yaml").hazards == HazardPolicy()


@pytest.mark.parametrize(
    "written",
    [
        b"{material_share: 0}", b"{material_share: 0.6}", b"{material_share: .nan}",
        b"{comfort_ratio: 0.9}", b"{comfort_ratio: .inf}", b"{share: 0.1}",
        b"{material_share: five}",
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_with_its_line(written: bytes) -> None:
    with pytest.raises(Unreadable) as refused:
        read_site(SITE + written, "vault.yaml")
    assert (refused.value.file, refused.value.line) == ("vault.yaml", 3)
