"""golden.yaml, byte for byte as the vault's format has it. People and values are invented."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from vault.model.errors import Damaged
from vault.model.golden import Allowance, Approval, Golden, Waiver
from vault.store.files.golden_text import golden_text, read_golden

BY = "Mira Okafor <mira@tileworks.example>"
AT = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
APPROVAL = Approval("ab" * 20, "cd" * 20, BY, AT, "as built", {"b": ("two", "one"), "a": ("x",)})
WAIVER = Waiver("lim/lag", Allowance.parse("..9 mm"), "2026-12-31", BY, AT, "worn")
TEXT = f"""\
schema: axisvault/golden/1
baseline:
  snapshot: {"ab" * 20}
  vault-at: {"cd" * 20}
  by: "{BY}"
  at: "2026-03-01T08:00:00+00:00"
  reason: as built
  accepted:
    a:
    - x
    b:
    - two
    - one
waivers:
- code: lim/lag
  allow: "..9 mm"
  until: "2026-12-31"
  by: "{BY}"
  at: "2026-03-01T08:00:00+00:00"
  reason: worn
"""


def test_a_baseline_is_written_as_the_format_has_it_and_reads_back() -> None:
    golden = Golden(APPROVAL, (WAIVER,))
    assert golden_text(golden).decode() == TEXT
    assert read_golden(golden_text(golden), "golden.yaml") == golden


@pytest.mark.parametrize(
    "golden",
    [Golden(), Golden(None, (WAIVER,)), Golden(Approval("ab" * 20, "cd" * 20, BY, AT, None))],
    ids=["nothing", "waivers of one that follows", "no reason"],
)
def test_what_is_not_there_is_left_out_and_reads_back_as_such(golden: Golden) -> None:
    assert "null" not in golden_text(golden).decode()
    assert read_golden(golden_text(golden), "golden.yaml") == golden


@pytest.mark.parametrize(
    ("right", "wrong", "reason"),
    [
        ("golden/1", "golden/9", "no golden baseline of ours"),
        ("  snapshot: ", "  snap: ", "snapshot is missing"),
        ('allow: "..9 mm"', 'allow: "9 bananas"', "this baseline is not as it was written"),
        ('  at: "2026-03-01T08:00:00+00:00"\n', "  at: noon\n", "no date or time"),
        ("  reason: as built", "  reason: {as: built}", "line 7: this line is not as it was"),
    ],
)
def test_a_baseline_that_is_not_as_it_was_written_is_damage(
    right: str, wrong: str, reason: str
) -> None:
    assert right in TEXT
    with pytest.raises(Damaged, match=reason) as raised:
        read_golden(TEXT.replace(right, wrong).encode(), "golden.yaml")
    assert raised.value.file == "golden.yaml"
