"""Traces in the browser: one is sent at the axis, and lies over the baseline's."""

from __future__ import annotations

import shutil
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import pytest

from example_machines import traces as example
from tests.conftest import BY
from tests.webui.visiting import Visit, add_people
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault
from webui.app import create_app

PAGE = "/axis/kiln-loader/pusher/trace"


@pytest.fixture
def visit(works: Path, tmp_path: Path) -> Visit:
    folder = tmp_path / "plant"
    shutil.copytree(works, folder)
    add_people(folder)
    found = Visit(create_app(folder))
    found.log_in("technician")
    return found


def send(visit: Visit, name: str, taken_at: str, move: str = "there and back"):
    content = (example.FOLDER / name).read_bytes()
    return visit.send(PAGE, trace=(BytesIO(content), name), move=move, taken_at=taken_at)


def test_a_trace_that_is_sent_is_shown_over_the_earlier_one(visit: Visit) -> None:
    assert "no trace yet" in visit.get(PAGE).text
    assert send(visit, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z").status_code == 303
    assert send(visit, "kiln-loader-pusher-worn.csv", "2025-12-01T10:00:00Z").status_code == 303
    text = visit.get(f"{PAGE}/latest").text
    assert "The axis does not move as it did: dry friction" in text
    svg = text[text.index("<svg") : text.index("</svg>") + 6]
    tree = ElementTree.fromstring(svg)
    kinds = [path.get("class") for path in tree.iter("path")]
    assert kinds.count("after thin") == 4
    assert kinds.count("before") == 5  # with its key
    first = visit.get(PAGE).text
    assert first.index("2025-12-01") < first.index("2025-10-16")


def test_a_first_trace_is_drawn_alone(visit: Visit) -> None:
    send(visit, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
    text = visit.get(f"{PAGE}/latest").text
    assert "no earlier trace of this move" in text
    assert 'class="before"' not in text
    assert "Resonance</th>" in text
    assert "cannot be told, because nothing rings" in text


def test_the_table_of_a_trace_is_there_as_csv_and_the_recording_as_it_came(visit: Visit) -> None:
    send(visit, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
    assert "Dry friction" in visit.get(f"{PAGE}/latest?csv=1").text
    assert (
        visit.get(f"{PAGE}/latest/file").data
        == (example.FOLDER / "kiln-loader-pusher.csv").read_bytes()
    )


def test_what_is_no_trace_is_refused_with_its_line(visit: Visit) -> None:
    bad = (BytesIO(b"time [s];position actual\n0;1\n"), "move.csv")
    answer = visit.send(PAGE, trace=bad, move="x", taken_at="")
    assert answer.status_code >= 400
    assert "move.csv, line 1" in answer.text
    assert "has no unit" in answer.text


def test_a_reader_is_offered_no_form(visit: Visit) -> None:
    visit.client.post("/log-out", data={"csrf_token": visit.csrf(PAGE)})
    visit.log_in("reader")
    assert 'type="file"' not in visit.get(PAGE).text


def test_the_page_of_a_plan_tells_the_latest_trace_and_trial_once(visit: Visit) -> None:
    send(visit, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
    made = visit.send("/restore/kiln-loader/pusher", do="make")
    text = visit.get(made.headers["Location"]).text
    assert text.count("It is the first trace of the move") == 1
    assert text.count("Record this move again") == 1
    assert text.count("when it is restored: a trial is a record of that") == 1
    assert "Try it when it is restored: " not in text
    sheet = visit.get(f"{made.headers['Location']}/file/sheet.html").text
    assert sheet.count("It is the first trace of the move") == 1


def test_a_damaged_trace_is_told_on_the_pages_of_the_others(visit: Visit, tmp_path: Path) -> None:
    send(visit, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
    path = layout.trace_file(Address("kiln-loader", "pusher"), "2025-10-16T100000Z")
    with Vault.open(tmp_path / "plant") as vault, vault.writing():
        vault.write_files({path: b"what\n"}, "by hand", BY)
    text = visit.get(PAGE).text
    assert "Not all of it can be read" in text
    assert path in text
    assert "no trace yet" not in text
    send(visit, "kiln-loader-pusher.csv", "2025-12-01T10:00:00Z")
    text = visit.get(f"{PAGE}/latest").text
    assert path in text
    assert "no earlier trace of this move" not in text
