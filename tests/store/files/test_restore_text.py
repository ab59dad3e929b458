"""restore.yaml, byte for byte as the vault's format has it. People and values are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from vault.model.errors import Damaged
from vault.model.restore import Adapted, RestoreRecord, SignOff
from vault.store.files.restore_text import read_restore, restore_text

BY = "Mira Okafor <mira@tileworks.example>"
AT = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
PLAIN = RestoreRecord("2026-03-01-ab12", AT, BY, "ab" * 20)
FULL = replace(
    PLAIN,
    family="rowan",
    load_file="lift.csv",
    load_file_sha256="cd" * 32,
    adapted=(Adapted("lim/lag", "250", "coarser steps"),),
    signed_off=SignOff(BY, AT, "ef" * 20, "in a hurry"),
)
TEXT = f"""\
schema: axisvault/restore/1
id: "2026-03-01-ab12"
made-at: "2026-03-01T08:00:00+00:00"
by: "{BY}"
snapshot: {"ab" * 20}
family: rowan
load-file:
  name: lift.csv
  sha256: {"cd" * 32}
adapted:
- code: lim/lag
  raw: "250"
  reason: coarser steps
signed-off:
  by: "{BY}"
  at: "2026-03-01T08:00:00+00:00"
  snapshot: {"ef" * 20}
  even-so: in a hurry
"""


def test_a_plan_is_written_as_the_format_has_it_and_reads_back() -> None:
    assert restore_text(FULL).decode() == TEXT
    assert read_restore(TEXT.encode(), "restore.yaml") == FULL


@pytest.mark.parametrize(
    "record", [PLAIN, replace(FULL, signed_off=SignOff(BY, AT, "ef" * 20))], ids=["plan", "signed"]
)
def test_what_is_not_there_is_left_out_and_reads_back_as_such(record: RestoreRecord) -> None:
    assert "null" not in restore_text(record).decode()
    assert read_restore(restore_text(record), "restore.yaml") == record


@pytest.mark.parametrize(
    ("right", "wrong", "reason"),
    [
        ("restore/1", "restore/9", "no restore plan of ours"),
        ('id: "2026-03-01-ab12"\n', "", "id is missing"),
        ("made-at: ", "made: ", "made-at is missing"),
        ("- code: lim/lag\n  raw", "- cod: lim/lag\n  raw", "code is missing"),
        ("family: rowan", "family : rowan", "line 6"),
    ],
)
def test_a_plan_that_is_not_as_it_was_written_is_damage(
    right: str, wrong: str, reason: str
) -> None:
    assert right in TEXT
    with pytest.raises(Damaged, match=reason) as raised:
        read_restore(TEXT.replace(right, wrong).encode(), "restore.yaml")
    assert raised.value.file == "restore.yaml"
