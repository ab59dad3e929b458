"""faults.yaml, byte for byte as the vault's format has it. People and faults are invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from vault.model.errors import Damaged
from vault.model.fault_log import FaultEntry
from vault.store.files.fault_log_text import fault_log_text, read_fault_log

BY = "Mira Okafor <mira@tileworks.example>"
AT = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
ENTRIES = (
    FaultEntry(AT, "7305h", BY),
    FaultEntry(AT, "8611h", BY, "it banged", "faults.csv"),
    FaultEntry(AT + timedelta(seconds=1), "2310h", BY),
)
TEXT = f"""\
schema: axisvault/faults/1
faults:
- at: "2026-03-01T08:00:00+00:00"
  code: "7305h"
  by: "{BY}"
- at: "2026-03-01T08:00:00+00:00"
  code: "8611h"
  by: "{BY}"
  note: it banged
  source: faults.csv
- at: "2026-03-01T08:00:01+00:00"
  code: "2310h"
  by: "{BY}"
"""


def test_faults_are_written_oldest_first_whatever_their_order_and_read_back() -> None:
    assert fault_log_text(reversed(ENTRIES)).decode() == TEXT
    assert read_fault_log(TEXT.encode(), "faults.yaml") == ENTRIES


def test_a_log_without_a_fault_reads_back_as_such() -> None:
    assert fault_log_text([]) == b"schema: axisvault/faults/1\nfaults: []\n"
    assert read_fault_log(fault_log_text([]), "faults.yaml") == ()


@pytest.mark.parametrize(
    ("right", "wrong", "reason"),
    [
        ("faults/1", "faults/9", "no fault log of ours"),
        ('  code: "7305h"\n', "", "code is missing"),
        ('- at: "2026-03-01T08:00:01+00:00"', "- at: noon", "no date or time"),
        ("  note: it banged", "  note: it banged ", "line 9"),
    ],
)
def test_a_log_that_is_not_as_it_was_written_is_damage(right: str, wrong: str, reason: str) -> None:
    assert right in TEXT
    with pytest.raises(Damaged, match=reason) as raised:
        read_fault_log(TEXT.replace(right, wrong).encode(), "faults.yaml")
    assert raised.value.file == "faults.yaml"
