"""Pictures: what they show, that they need nothing but the stylesheet, and that one can read them.

Where words lie on the page, a real browser says.
"""

from __future__ import annotations

import re
import shutil
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import BY
from tests.meaning.checks.sets import CARRIAGE, SCREW, Settings, parameter, view_of, with_mechanics
from tests.webui.browsing import served
from vault.jobs.baseline import golden
from vault.jobs.baseline.axis_drift import STATUSES, AxisDrift
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.inspect.parameter_timeline import Mark, Timeline, TimelinePoint
from vault.meaning.changes import Change, Finding
from vault.meaning.margin_text import standing_of
from vault.meaning.spread_strip import Place, Strip
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app
from webui.pictures import margin_bar, overview, spread_strip, timeline
from webui.pictures.gallery import PICTURES
from webui.pictures.margin_bar import OtherRatio
from webui.pictures.svg import Names, Scale, Sheet, nice_step, ticks

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.sweep(3)

HOIST, LIFT, BELT = "kiln-loader/hoist", "glaze-line-1/lift", "glaze-line-1/belt-feed"
SHUTTLE, TABLE = "kiln-loader/shuttle", "glaze-line-2/turntable"
STRIPS = "/spread?pattern=glaze*"
# Pages of the example works, and the titles of the pictures on them.
SHOWN = {
    "/": ["3 machines, 14 axes"],
    f"/axis/{HOIST}/parameter/mov-133": [f"Profile velocity of {HOIST} over time"],
    f"/axis/{LIFT}/parameter/0x6065:00": [f"Following error window of {LIFT} over time"],
    f"/axis/{BELT}/parameter/0x6072:00": [f"Maximum torque of {BELT} over time"],
    f"/axis/{LIFT}/parameter/0x607C:00?units=inch": [f"Home offset of {LIFT} over time"],
    f"/compare?left={HOIST}@~3&right={HOIST}@~2": ["Speed over the reference move of 850 mm"],
    f"/compare?left={BELT}@~3&right={BELT}@~2": ["Lag against the following error window"],
    f"/compare?left={LIFT}@~2&right={LIFT}@~1":
        ["Where the axis may go", "Every position lies 118.4 mm elsewhere"],
    f"/compare?left={SHUTTLE}@~2&right={SHUTTLE}@~1&units=inch": ["Where the axis may go"],
    f"/compare?left={TABLE}@first&right={TABLE}":
        ["Speed over the reference move of 90 deg", "Lag against the following error window"],
    "/compare?left=glaze-line-1/lift&right=glaze-line-2/lift&units=si":
        ["Speed over the reference move of 0.3 m", "Lag against the following error window"],
    STRIPS: [],
    f"{STRIPS}&parameter=following_error_time_out": ["Following error time-out on all axes"],
    f"/axis/{HOIST}/margins": [],
    "/axis/glaze-line-1/slurry-pump/margins": [],
    f"/axis/{HOIST}/margins/over-time": [],
    f"/axis/{LIFT}/margins/over-time": [],
}  # fmt: skip
NOTHING_TO_SEE = (
    f"/compare?left={LIFT}@~3&right={LIFT}@~4",  # no setting changed
    "/compare?left=glaze-line-1/spray-carriage@~4&right=glaze-line-1/spray-carriage@~3",  # units
    "/axis/glaze-line-1/turntable/parameter/in/4",  # a choice
)


@pytest.fixture(scope="module")
def approved(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example works with golden baselines, waivers, and drift."""
    folder = tmp_path_factory.mktemp("pictured") / "plant"
    shutil.copytree(works, folder)
    with Vault.open(folder) as vault:
        for state in (f"{HOIST}@first", f"{BELT}@first", f"{LIFT}@first", TABLE):
            golden.approve(vault, state, BY, "as delivered")
        for axis, code, allow in (
            (BELT, "0x6072:00", "8..14 N*m"),
            (HOIST, "mov-133", "400..650 mm/s"),
        ):
            golden.waive(
                vault,
                Address.parse(axis),
                parse_waiver_request(code, allow=allow, until="2099-01-01", reason="for now"),
                BY,
            )
    return folder


@pytest.fixture(scope="module")
def client(approved: Path) -> FlaskClient:
    return create_app(approved, is_local=True).test_client()


def pictures(text: str) -> list[ElementTree.Element]:
    """The pictures of a page, each of which has to be well-formed XML."""
    return [ElementTree.fromstring(svg) for svg in re.findall(r"<svg.*?</svg>", text, re.DOTALL)]


def told(picture: ElementTree.Element) -> tuple[str, str]:
    """Title and description."""
    return picture.findtext("title") or "", picture.findtext("desc") or ""


def is_margin(picture: ElementTree.Element) -> bool:
    """Whether it is the bar of a margin, of which a page may have many."""
    return "margin" in (picture.get("class") or "").split()


@pytest.mark.parametrize("address", SHOWN)
def test_a_page_has_these_pictures_in_words_too(address: str, client: FlaskClient) -> None:
    text = client.get(address).text
    found = pictures(text)
    if expected := SHOWN[address]:
        shown = [told(one)[0] for one in found if not is_margin(one)]
        assert shown == expected
    else:
        assert found
    for one in found:
        title, description = told(one)
        assert len(description) > 10
        ids = [part.get("id") for part in one if part.tag in ("title", "desc")]
        assert (one.get("aria-labelledby") or "").split() == ids
        assert title != description
    all_ids = re.findall(r' id="([^"]+)"', text)
    assert [name for name, count in Counter(all_ids).items() if count > 1] == []


@pytest.mark.parametrize("address", SHOWN)
def test_a_picture_needs_nothing_but_the_stylesheet(address: str, client: FlaskClient) -> None:
    css = client.get("/style.css").text
    for picture in pictures(client.get(address).text):
        for part in picture.iter():
            assert part.tag not in ("script", "style", "image", "foreignObject")
            assert not {name for name in part.attrib if name == "style" or name.startswith("on")}
            for name in (part.get("class") or "").split():
                assert re.search(rf"\.{name}\b", css), f"no rule for {name}"
            for name in ("href", "fill"):
                assert not re.search(r"https?:", part.get(name) or "")


@pytest.mark.parametrize("address", NOTHING_TO_SEE)
def test_nothing_is_drawn_where_there_is_nothing_to_see(address: str, client: FlaskClient) -> None:
    assert pictures(client.get(address).text) == []


def described(client: FlaskClient, address: str) -> dict[str, str]:
    found = pictures(client.get(address).text)
    return dict(told(one) for one in found if not is_margin(one))


def test_the_numbers_are_those_of_the_sentences(client: FlaskClient) -> None:
    """Worked by hand from the sets: 850 mm at 600 and 450 mm/s, jerk-limited.

    (1 - 0.98) x 2000 / 40 = 1 mm of lag; its profile speed does not act in a cyclic mode.
    """
    moved = described(client, f"/compare?left={HOIST}@~3&right={HOIST}@~2")
    profile = moved["Speed over the reference move of 850 mm"]
    # d/v + v/2 (1/a + 1/b) + (a/j + b/j)/2: a = b = 1200 mm/s^2, then b = 800, j = 400,000.
    before = 850 / 600 + 600 / 1200 + 1200 / 400_000
    after = 850 / 450 + 225 * (1 / 1200 + 1 / 800) + (1200 + 800) / 800_000
    assert f"before: {before:.4g} s, up to 600 mm/s" in profile
    assert f"after: {after:.3g} s, up to 450 mm/s" in profile
    lag = described(client, f"/compare?left={BELT}@~3&right={BELT}@~2").popitem()[1]
    assert "before: window 2 mm; lag 1 mm at top speed of 2,000 mm/s: window 2 times that" in lag
    assert "after: window 20 mm" in lag
    travel = described(client, f"/compare?left={LIFT}@~2&right={LIFT}@~1")
    # An encoder of 24 bits counted as one of 20: a sixteenth of every way.
    where = travel["Where the axis may go"]
    assert "before: 300 mm commanded, 300 mm travelled; after: 300 mm commanded, 18.75 mm" in where
    assert "after: limits 0 mm to 37.5 mm" in where
    assert "45 mm, is too little" in travel["Every position lies 118.4 mm elsewhere"]


def test_the_golden_value_and_its_waiver_stand_in_the_picture(client: FlaskClient) -> None:
    page = client.get(f"/axis/{HOIST}/parameter/mov-133").text
    assert "golden: 600 mm/s" in page
    assert "a waiver allows 400 mm/s to 650 mm/s" in page
    assert 'class="allowed"' in page
    assert "most the drive takes: 19.08 N*m" in client.get(f"/axis/{BELT}/parameter/0x6072:00").text


def drawn(name: str, before: Settings, after: Settings) -> str:
    """What a picture says of two sets on a screw that has its hard stops at -20 and 320 mm."""
    record = with_mechanics(SCREW, stroke="340 mm", hard_stop_low="-20 mm", hard_stop_high="320 mm")
    left, right = (view_of({**ORDINARY, **one}, record) for one in (before, after))
    (offer,) = (one for one in PICTURES if one.name == name)
    change = Change("changed", "travel", None, parameter("home_offset", 5), findings=(SHIFT,))
    (picture,) = pictures(offer.draw(offer.data(change, left, right), Names(), "k"))
    words = " / ".join(text.text or "" for text in picture.findall("text"))
    return f"{words} / {told(picture)[1]}"


def test_a_lag_beyond_its_window_trips() -> None:
    """(1 - 0.5) x 250 / 40 = 3.125 mm, at 300 mm/s 3.75 mm."""
    mode = {"modes_of_operation": 1}
    wide, tight = ({**mode, "following_error_window": size} for size in (5000, 3500))
    text = drawn("lag", wide, tight)
    assert "before: window 5 mm / profile speed: lag 3.125 mm, window 1.6 times that" in text
    assert "after: window 3.5 mm" in text
    assert "top speed: lag 3.75 mm, trips" in text
    off = drawn("lag", mode, {**mode, "following_error_window": 0xFFFF_FFFF})
    assert "after: window is off, never trips" in off
    assert "lag 3.125 mm, nothing watches it" in off
    leads = drawn("lag", {}, {"velocity_feed_forward": "100 %"})
    assert "lag 0 mm, inside" in leads


def test_limits_that_are_gone_leave_the_stops() -> None:
    off = {"min_software_position_limit": 0, "max_software_position_limit": 0}
    text = drawn("travel", {}, off)
    assert "before: limits 0 mm to 300 mm / after: no software limit acts" in text
    assert "hard stops at -20 mm and 320 mm" in text
    scaled = drawn("travel", {}, {"feed_constant_feed": 10_000})
    assert "before: 170 mm commanded, 170 mm travelled" in scaled
    assert "after: 170 mm commanded, 272 mm travelled" in scaled  # a screw of 16 mm: 1.6 times


def test_a_shift_that_the_room_takes() -> None:
    assert "room to the hard stop, 20 mm, takes that" in drawn("shift", {}, {})


def test_two_axes_are_called_by_their_names_and_have_no_shift(client: FlaskClient) -> None:
    found = described(client, "/compare?left=glaze-line-1/lift&right=glaze-line-2/lift")
    assert not any("elsewhere" in title for title in found)
    assert "glaze-line-1: 1.256 s" in found["Speed over the reference move of 300 mm"]


def test_each_of_two_axes_has_its_own_bar_and_mark(client: FlaskClient) -> None:
    text = client.get(f"/compare?left={SHUTTLE}&right=kiln-loader/pusher").text
    bars = dict(told(one) for one in pictures(text) if is_margin(one))
    room = "room behind the software limits against a quick stop"
    assert bars[f"shuttle: {room}"] == "ratio at least 0.707: may be short"
    assert bars[f"pusher: {room}"] == "ratio at least 1.42: holds"
    plain = " ".join(re.sub(r"<[^>]+>", " ", text).split())
    assert "shuttle: ▽ may be short , at least 0.707" in plain
    assert "pusher: △ holds , at least 1.42" in plain


def test_a_difference_shows_the_margins_that_moved_as_bars(client: FlaskClient) -> None:
    text = client.get(f"/compare?left={LIFT}@~2&right={LIFT}@~1").text
    short, other = text.index("Margins short of 1"), text.index("other margins that moved")
    assert short < text.index("What differs") < other
    bars = dict(told(one) for one in pictures(text) if is_margin(one))
    delay = bars["delay until power is taken off safely against a stop"]
    assert delay == "ratio at least 0.285: may be short; before 3.9"
    speed = bars["what the machine is built for against the commanded speed"]
    assert speed == "ratio 16: holds; before 1; the bar ends at 4 and goes on"


@pytest.mark.parametrize(
    ("ratio", "start", "end"),
    [(0.5, 53.5, 95), (2.0, 95, 136.5), (1.0, 95, 95), (1 / 3, 29.2, 95), (3.9, 95, 176.5)],
)
def test_half_and_double_are_equally_far_from_the_line_at_1(
    ratio: float, start: float, end: float
) -> None:
    """One doubling is a quarter of the 166 units between a quarter and 4: 41.5."""
    (picture,) = pictures(
        margin_bar.draw(ratio, "exact", standing_of(ratio, "exact"), "a margin", "k")
    )
    (bar,) = (part for part in picture.iter("rect"))
    left = float(bar.get("x") or 0)
    assert (left, left + float(bar.get("width") or 0)) == pytest.approx((start, end), abs=0.1)
    assert ("short" in (bar.get("class") or "")) is (ratio < 1)


def test_the_lines_of_a_bar_stand_at_equal_doublings_under_the_numbers_of_the_scale() -> None:
    picture, scale = pictures(
        margin_bar.draw(0.8, "exact", "short", "a margin", "k") + margin_bar.scale("s")
    )
    assert [*picture.iter("text")] == []
    words = {text.text: float(text.get("x") or 0) for text in scale.iter("text")}
    assert words == {"¼": 12, "½": 53.5, "1": 95, "2": 136.5, "4": 178}
    lines = [part for part in picture.iter("path") if part.get("class") in ("rule", "edge")]
    places = [re.findall(r"M([\d.]+) .*L([\d.]+) ", part.get("d") or "") for part in lines]
    assert places == [[(f"{x:g}", f"{x:g}")] for x in words.values()]
    (edge,) = (part for part in lines if part.get("class") == "edge")
    assert (edge.get("d") or "").startswith("M95 ")


@pytest.mark.parametrize("ratio", [float("inf"), 400.0, 4.01, 0.24, 0.0, -3.0])
def test_a_bar_that_is_cut_has_an_arrow_and_says_so(ratio: float) -> None:
    stands = standing_of(ratio, "at_least")
    (picture,) = pictures(margin_bar.draw(ratio, "at_least", stands, "a margin", "k"))
    assert [*picture.iter("rect")] == []
    assert "bar" in " ".join(part.get("class") or "" for part in picture.iter("path"))
    assert "and goes on" in told(picture)[1]
    assert not re.search(r"[ \"](nan|inf)\b", ElementTree.tostring(picture, "unicode"))


def test_what_a_bar_is_held_against_is_marked_and_told() -> None:
    others = (OtherRatio(2.0, "golden"), OtherRatio(1.2, "floor"))
    (picture,) = pictures(margin_bar.draw(0.8, "up_to", "short", "a margin", "k", others))
    kinds = [part.get("class") for part in picture.iter("path")]
    assert kinds.count("golden") == kinds.count("filled") == 1
    assert told(picture)[1] == "ratio up to 0.8: short; golden 2; floor 1.2"


def test_the_strip_marks_the_odd_ones(client: FlaskClient) -> None:
    found = described(client, "/spread?pattern=glaze*")
    told_ = found["Position encoder resolution, increments on all axes"]
    assert "16,777,216 increments: glaze-line-1/lift (odd)" in told_
    assert "Software position limits used on all axes" not in found  # a choice


def strip_of(*values: tuple[float, int, bool]) -> Strip:
    places = (
        Place(value, f"{value:g} mm", tuple(f"m{value:g}-{n}/lift" for n in range(count)), is_odd)
        for value, count, is_odd in values
    )
    return Strip("Window", "mm", tuple(places))


def test_columns_have_a_ring_for_each_axis_and_a_diamond_for_each_odd_one() -> None:
    (picture,) = pictures(spread_strip.draw_columns(strip_of((4, 5, False), (8, 2, True)), "k"))
    assert len(list(picture.iter("circle"))) == 5
    diamonds = [part for part in picture.iter("path") if part.get("class") == "filled"]
    assert len(diamonds) == 2
    assert "m8-0/lift and 1 more" in [text.text for text in picture.iter("text")]
    assert told(picture)[1] == (
        "4 mm: m4-0/lift, m4-1/lift, m4-2/lift, m4-3/lift, m4-4/lift; "
        "8 mm: m8-0/lift, m8-1/lift (odd)"
    )


def test_of_many_axes_a_mark_stands_for_several_and_none_is_lost() -> None:
    (picture,) = pictures(spread_strip.draw_columns(strip_of((4, 39, False), (8, 1, True)), "k"))
    rings = len(list(picture.iter("circle")))
    (share,) = (text.text for text in picture.iter("text") if "one mark" in (text.text or ""))
    assert share == "one mark: up to 5 axes"
    assert 39 / 5 <= rings < 39 / 5 + 1
    diamonds = [part for part in picture.iter("path") if part.get("class") == "filled"]
    assert len(diamonds) == 1


def test_columns_stand_at_their_values_unless_they_would_touch() -> None:
    apart = strip_of((0, 1, False), (50, 1, False), (100, 1, False))
    near = strip_of((0, 1, False), (1, 1, False), (100, 1, False))
    for strip, most in ((apart, 3), (near, 2)):
        (picture,) = pictures(spread_strip.draw_columns(strip, "k"))
        places = sorted({float(ring.get("cx", 0)) for ring in picture.iter("circle")})
        assert len(places) == most
        assert all(b - a >= 12 for a, b in pairwise(places))
    (picture,) = pictures(spread_strip.draw_columns(apart, "k"))
    left, middle, right = sorted(float(ring.get("cx", 0)) for ring in picture.iter("circle"))
    assert middle == pytest.approx((left + right) / 2, abs=0.1)


def drifts(count: int, per_machine: int = 10) -> list[tuple[str, list[AxisDrift]]]:
    return [
        (
            f"machine-{machine}",
            [
                AxisDrift(f"machine-{machine}/axis-{n}", STATUSES[n % len(STATUSES)])
                for n in range(per_machine)
            ],
        )
        for machine in range(count // per_machine)
    ]


def test_every_axis_has_a_mark_that_leads_to_it_and_says_how_it_stands() -> None:
    text = overview.draw(drifts(20))
    assert text.count('<a href="/axis/') == 20
    assert '<a href="/axis/machine-0/axis-1" aria-label="axis-1: export overdue">' in text
    shapes = re.findall(r'<g id="overview-\w+">(.*?)</g>', text)
    assert len(set(shapes)) == len(STATUSES)
    (picture,) = pictures(text)
    assert picture.get("role") == "group"  # what is an img has no links inside
    assert told(picture) == (
        "2 machines, 20 axes",
        "6 drifted, 6 export overdue, 4 nothing approved, 4 in line",
    )


def test_a_large_site_has_counts_alone() -> None:
    text = overview.draw(drifts(20_000, 100))
    assert len(text) < 5_000
    (picture,) = pictures(text)
    assert told(picture)[1].startswith("5,000 drifted, 5,000 export overdue")
    assert overview.draw([]) == ""


def test_markup_in_a_picture_is_text() -> None:
    hostile = "<script>alert(1)</script>\"'&"
    at = (datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 3, 1, tzinfo=UTC))
    points = tuple(TimelinePoint(one, n, hostile) for n, one in enumerate(at))
    text = timeline.draw(Timeline(points, hostile, Mark(1, hostile), hostile), hostile)
    (picture,) = pictures(text)
    assert told(picture)[0] == hostile
    assert "<script" not in text


def test_of_very_many_values_the_first_the_extremes_and_the_last_are_told() -> None:
    start = datetime(2020, 1, 1, tzinfo=UTC)
    values = [float(n * 37 % 1000) for n in range(1, 1001)]
    points = tuple(
        TimelinePoint(start + timedelta(days=n), value, f"{value:g} mm")
        for n, value in enumerate(values)
    )
    text = timeline.draw(Timeline(points, "mm"), "Window")
    assert len(text) < 100_000
    # 999 is 27 x 37, and 37,000 the first multiple that ends on three noughts.
    assert told(*pictures(text))[1] == (
        "2020-01-01 37 mm; 2020-01-27 999 mm; 2022-09-26 0 mm; and 997 more values; "
        "last seen 2022-09-26"
    )


ODD = st.sampled_from([0, 1, 7, -5, 300, 2**31 - 1, 2**32 - 1])
ORDINARY: Settings = {
    **CARRIAGE,
    "following_error_window": 2500,
    "position_gain": "40 1/s",
    "velocity_feed_forward": "50 %",
    "profile_velocity": 250_000,
    "max_profile_velocity": 300_000,
    "profile_acceleration": 2_000_000,
    "profile_deceleration": 1_000_000,
    "profile_jerk": 90_000_000,
    "motion_profile_type": 3,
    "min_software_position_limit": 0,
    "max_software_position_limit": 300_000,
}
SETS = st.fixed_dictionaries({}, optional=dict.fromkeys(ORDINARY, ODD))
MOVES = st.sampled_from(["0 mm", "-5 mm", "0.000001 mm", "150 mm", "10000000 m"])
SHIFT = Finding("shift of every position", "0.02", "m", "right less left")


@given(SETS, SETS, MOVES)
def test_whatever_a_set_holds_can_be_drawn(
    before: dict[str, int], after: dict[str, int], move: str
) -> None:
    record = with_mechanics(SCREW, stroke="300 mm", reference_move=move)
    left, right = (view_of({**ORDINARY, **one}, record) for one in (before, after))
    shown = Change("changed", "travel", None, parameter("home_offset", 5), findings=(SHIFT,))
    for offer in PICTURES:
        data = offer.data(shown, left, right)
        if data is not None:
            text = offer.draw(data, Names(), "k")
            (picture,) = pictures(text)
            assert not re.search(r"[ \"](nan|inf)\b", text)
            assert told(picture)[1]


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0, 1, ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]),
        (412, 655, ["450", "500", "550", "600", "650"]),
        (999_985, 1_000_005, ["999,985", "999,990", "999,995", "1,000,000", "1,000,005"]),
        (-0.06, 0.06, ["-0.05", "0.00", "0.05"]),
        (3, 3, ["3"]),
    ],
)
def test_ticks_are_round_numbers_that_can_be_told_apart(
    low: float, high: float, expected: list[str]
) -> None:
    found = ticks(low, high)
    assert [words for _, words in found] == expected
    assert [value for value, _ in found] == pytest.approx(
        [float(words.replace(",", "")) for words in expected], abs=1e-9
    )
    assert nice_step(7, 5) == 2


def test_a_label_goes_where_there_is_room() -> None:
    sheet = Sheet("k", 200)
    assert sheet.label([(10, 20, "start")], "first")
    assert not sheet.label([(12, 22, "start"), (190, 20, "start")], "taken, or beyond the edge")
    assert sheet.label([(12, 22, "start"), (10, 60, "start")], "below")
    assert Scale(0, 10, 100, 200).at(5) == 150
    assert Scale(3, 3, 0, 100).at(3) == 0


@pytest.fixture(scope="module", params=[(390, "light"), (1280, "dark")], ids=["phone", "desk"])
def page(request: pytest.FixtureRequest, browser: Browser, approved: Path) -> Iterator[Page]:
    width, scheme = request.param
    with served(approved) as address:
        context = browser.new_context(
            viewport={"width": width, "height": 850}, color_scheme=scheme, base_url=address
        )
        yield context.new_page()
        context.close()


READ_TEXTS = """svgs => svgs.filter(svg => svg.getBoundingClientRect().width).map(svg => ({
    title: svg.querySelector('title').textContent, own: svg.getBoundingClientRect().toJSON(),
    texts: [...svg.querySelectorAll('text')].map(text => [
        text.textContent, text.getBoundingClientRect().toJSON(),
        parseFloat(getComputedStyle(text).fontSize) * svg.getBoundingClientRect().width
            / svg.viewBox.baseVal.width])}))"""


@pytest.mark.parametrize("address", SHOWN)
def test_words_lie_inside_the_picture_apart_from_each_other_and_are_large_enough(
    address: str, page: Page
) -> None:
    page.goto(address)
    found = page.eval_on_selector_all("svg", READ_TEXTS)
    assert found or STRIPS in address  # on a telephone these are on the page of their parameter
    for picture in found:
        own = picture["own"]
        assert own["right"] <= page.evaluate("document.documentElement.scrollWidth") + 1
        placed: list[tuple[str, dict[str, float]]] = []
        for words, box, size in picture["texts"]:
            assert size >= 11.5, f"{words} of {picture['title']} is small"
            inside = own["left"] - 1 <= box["left"] and box["right"] <= own["right"] + 1
            assert inside, f"{words} sticks out of {picture['title']}"
            for other, place in placed:
                apart = (
                    box["right"] <= place["left"] or place["right"] <= box["left"]
                    or box["bottom"] <= place["top"] + 2 or place["bottom"] <= box["top"] + 2
                )  # fmt: skip
                assert apart, f"{words} lies on {other} in {picture['title']}"
            placed.append((words, box))
