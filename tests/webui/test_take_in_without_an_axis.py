"""What is sent without an axis: what is wrong with a file itself is said first."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from flask import Flask

from tests.webui.hostile import Export
from tests.webui.visiting import Visit

# The marker that begins a JPEG file, and its first segment (JFIF 1.02, ISO/IEC 10918-5).
JPEG = bytes.fromhex("ffd8ffe000104a46494600010100000100010000") + bytes(range(256)) * 4


@pytest.fixture
def technician(app: Flask) -> Visit:
    visit = Visit(app)
    visit.log_in("technician")
    return visit


def told(who: Visit, name: str, content: bytes) -> str:
    """Why a file that was sent without an axis cannot be stored."""
    answer = who.send("/take-in", export=(BytesIO(content), name))
    assert answer.status_code == 303, answer.text
    page = who.get(answer.headers["Location"]).text
    found = re.search(r"It cannot be stored</b>(.*?)</p>", page)
    assert found is not None, page
    return found[1]


@pytest.mark.parametrize(
    ("name", "content", "why"),
    [
        ("lift.csv", b" \r\n", "the file is empty"),
        ("lift.jpg", JPEG, "picture"),
        ("lift.csv", bytes(range(200, 256)) * 30, "no export"),
    ],
)
def test_a_file_that_is_no_export_is_told_as_such(
    technician: Visit, name: str, content: bytes, why: str
) -> None:
    text = told(technician, name, content)
    assert why in text
    assert "which axis" not in text


def test_an_export_that_can_be_read_wants_its_axis(technician: Visit, export_text: Export) -> None:
    unseen = export_text(serial="S-NEVER-SEEN").encode()
    assert "say which axis it belongs to" in told(technician, "new.csv", unseen)
