"""Links of a machine's and a record's page: they are offered where something is behind them."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from flask import Flask

from tests.webui.hostile import Export, settle
from tests.webui.visiting import Visit
from webui.pages.record import place_of

BESIDE = "Its axes side by side"


@pytest.fixture
def technician(app: Flask) -> Visit:
    visit = Visit(app)
    visit.log_in("technician")
    return visit


def test_axes_stand_side_by_side_where_two_have_an_export(
    technician: Visit, app: Flask, export_text: Export
) -> None:
    def take_in(axis: str) -> None:
        file = (BytesIO(export_text(serial=axis).encode()), "a.csv")
        waiting = technician.send("/take-in", axis=axis, export=file).headers["Location"]
        more = {"axis-0": axis, "taken_at-0": "now"}
        settle(app, technician.send(waiting, do="store", **more))

    take_in("m9/lift")
    assert BESIDE not in technician.get("/machine/m9").text
    assert technician.get("/spread?pattern=m9/*").status_code == 404, "that is why"
    take_in("m9/belt")
    assert BESIDE in technician.get("/machine/m9").text
    assert technician.get("/spread?pattern=m9/*").status_code == 200


def test_what_most_margins_wait_for_leads_to_a_place_on_the_page(technician: Visit) -> None:
    asked = "/axis/m1/lift/record?mechanics.kind=screw&mechanics.lead=10 mm"
    for address in ("/axis/m1/lift/record", "/axis/m1/belt/record", asked):
        page = technician.get(address).text
        line = re.search(r"Most wait for: (.*?)</p>", page)
        assert line is not None
        links = re.findall(r'href="#([^"]+)"', line[1])
        assert links
        assert set(links) <= set(re.findall(r' id="([^"]+)"', page))


@pytest.mark.parametrize(
    ("key", "place"),
    [
        ("mechanics.lead", "f-mechanics.lead"),
        ("mechanics.gearbox", "f-mechanics.gearbox.motor"),
        ("mechanics", "f-mechanics"),
        ("duty", "f-duty"),
        ("duty.moves", "f-duty"),
    ],
)
def test_a_key_is_entered_in_its_field_or_in_its_section(
    technician: Visit, key: str, place: str
) -> None:
    assert place_of(key) == place
    assert technician.get("/axis/m1/lift/record").text.count(f' id="{place}"') == 1
