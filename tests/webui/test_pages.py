"""The viewer's pages: what they show, that they hide nothing and give nothing away."""

from __future__ import annotations

import re
import shutil
import sys
from collections.abc import Callable, Iterator
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from tests.conftest import BY, Outcome, Take
from vault.jobs.baseline import golden
from vault.jobs.faults.log import add_fault, parse_fault
from vault.jobs.records.edit import set_axis
from vault.model.fault_log import FaultEntry
from vault.model.names import Address
from vault.store.clock import now
from vault.store.files import layout
from vault.store.vault import Vault
from webui import static_files
from webui.app import create_app

HOIST, LIFT = "kiln-loader/hoist", "glaze-line-1/lift"
Cli = Callable[..., Outcome]
Export = Callable[..., str]

# Address of a page, and the command that says the same; None where there is none.
PAGES: dict[str, tuple[str, ...] | None] = {
    "/": ("drift", "--all"),
    "/machine/kiln-loader": ("drift", "kiln-loader", "--all"),
    f"/axis/{HOIST}": ("history", HOIST),
    f"/axis/{HOIST}/at/2022-12-01": ("show", f"{HOIST}@2022-12-01"),
    f"/axis/{HOIST}/at/latest/check": ("check", f"{HOIST}@latest"),
    f"/axis/{HOIST}/margins": ("margins", HOIST),
    f"/axis/{HOIST}/margins/over-time": ("margins", HOIST, "--over-time"),
    f"/axis/{HOIST}/at/first/margins": ("margins", f"{HOIST}@first"),
    f"/axis/{HOIST}/parameter/mov-133": ("history", HOIST, "--parameter", "mov-133"),
    "/axis/glaze-line-1/lift/parameter/0x6065:00":
        ("history", LIFT, "--parameter", "0x6065:00"),
    f"/compare?left={LIFT}@previous&right={LIFT}": ("compare", f"{LIFT}@previous", LIFT),
    f"/compare?left={LIFT}@~1&right={LIFT}&all=1": ("compare", f"{LIFT}@~1", LIFT, "--all"),
    "/compare?left=glaze-line-1/belt-feed@~3&right=glaze-line-1/belt-feed@~2&fault=8611h":
        ("compare", "glaze-line-1/belt-feed@~3", "glaze-line-1/belt-feed@~2", "--fault", "8611h"),
    "/compare?left=glaze-line-1&right=glaze-line-2": ("compare", "glaze-line-1", "glaze-line-2"),
    "/compare?left=glaze-line-1&right=kiln-loader&pair=lift=hoist":
        ("compare", "glaze-line-1", "kiln-loader", "--pair", "lift=hoist"),
    "/spread?pattern=*/lift": ("spread", "*/lift"),
    "/spread?pattern=*&parameter=following_error_time_out":
        ("spread", "*", "--parameter", "following_error_time_out"),
    "/find?text=following_error_window&value=%3E+5+mm":
        ("find", "following_error_window", "--value", "> 5 mm"),
    f"/axis/{HOIST}?kind=fault&skip=1": ("history", HOIST, "--kind", "fault", "--skip", "1"),
    "/faults?code=F-11": ("fault", "list", "--code", "F-11"),
    "/waivers?days=60": ("golden", "waivers", "--days", "60"),
    "/alerts": ("alerts", "list", "--all"),
    "/families": ("family", "list"),
    "/families/larch": ("family", "show", "larch"),
    f"/restore/{HOIST}": None,
    f"/audit?place={HOIST}&fault=F-11&to=2026-01-01":
        ("audit", HOIST, "--fault", "F-11", "--to", "2026-01-01"),
    "/health": None,
}  # fmt: skip
FORMS = ("/compare", "/spread", "/find", "/audit")
OUR_SCRIPTS = [
    {"src": static_files.address("search.js"), "defer": None},
    {"src": static_files.address("forms.js"), "type": "module"},
]


class Document(HTMLParser):
    """What a browser sees of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def links(self) -> list[str]:
        found = (attributes.get("href") for tag, attributes in self.tags if tag == "a")
        return [address for address in found if address]


@pytest.fixture(scope="module")
def client(works: Path) -> FlaskClient:
    return create_app(works, is_local=True).test_client()


@pytest.mark.parametrize("address", [*PAGES, *FORMS])
def test_a_page_has_a_title_landmarks_and_runs_nothing_but_our_scripts(
    address: str, client: FlaskClient
) -> None:
    answer = client.get(address)
    assert answer.status_code == 200
    page = Document(answer.text)
    tags = [tag for tag, _ in page.tags]
    assert tags.count("title") == 1 + tags.count("svg")
    assert [tags.count(tag) for tag in ("h1", "main", "header", "footer")] == [1] * 4
    assert not {"style", "iframe"} & set(tags)
    scripts = [attributes for tag, attributes in page.tags if tag == "script"]
    assert scripts == OUR_SCRIPTS
    assert re.search(r"<script[^>]*></script>", answer.text)
    assert not [a for _, a in page.tags for name in a if name.startswith("on") or name == "style"]
    assert "never writes to a drive" in page.text


@pytest.mark.parametrize(("address", "command"), [(a, c) for a, c in PAGES.items() if c])
def test_the_data_of_a_page_are_those_of_the_command(
    address: str, command: tuple[str, ...], client: FlaskClient, works: Path, cli: Cli
) -> None:
    answer = client.get(f"/api/v1{address}")
    assert answer.status_code == 200
    assert answer.json == cli("--vault", works, *command, "--json").json


def test_every_link_leads_somewhere(client: FlaskClient) -> None:
    """Every page that can be reached from the site within two clicks."""
    seen: dict[str, int] = {}
    front = {"/"}
    for _ in range(2):
        found: set[str] = set()
        for address in front - seen.keys():
            answer = client.get(address)
            seen[address] = answer.status_code
            found |= {
                link.partition("#")[0]
                for link in Document(answer.text).links()
                if link.startswith("/")
            }
        front = found
    # Every twelfth of the rest: axes have the same kinds of links.
    for address in sorted(front - seen.keys())[::12]:
        seen[address] = client.get(address).status_code
    assert len(seen) > 25
    assert {address: code for address, code in seen.items() if code != 200} == {}


@pytest.mark.parametrize("address", ["/", "/nope", "/style.css", "/api/v1/health", "/healthz"])
def test_every_answer_carries_the_headers(address: str, client: FlaskClient) -> None:
    headers = client.get(address).headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/nope", 404),
        ("/axis/no/such", 404),
        ("/axis/..%2f..%2fetc/passwd", 404),
        (f"/axis/{HOIST}/at/yesterday", 404),
        (f"/axis/{HOIST}/parameter/nope", 404),
        ("/compare?left=file:/etc/passwd&right=kiln-loader/hoist", 404),
        ("/compare?left=kiln-loader/hoist", 404),
        ("/compare?left=glaze-line-1&right=nothing", 404),
        ("/compare?left=glaze-line-1&right=glaze-line-1", 404),
        ("/compare?left=glaze-line-1&right=glaze-line-2/lift", 404),
        ("/compare?left=glaze-line-1&right=glaze-line-2&pair=lift", 404),
        ("/audit?place=kiln-loader/hoist&fault=F-99", 404),
        ("/?units=furlongs", 404),
        ("/families/..%2f..%2fvault", 404),
    ],
)
def test_a_wrong_address_says_what_is_wrong_and_gives_nothing_away(
    address: str, status: int, client: FlaskClient, works: Path
) -> None:
    for prefix in ("", "/api/v1"):
        answer = client.get(prefix + address)
        assert answer.status_code == status
        for secret in (str(works), "Traceback", "site-packages", "root:"):
            assert secret not in answer.text
    assert "error" in (answer.json or {})


def test_an_error_of_our_own_shows_no_traceback(
    works: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError(f"secret of {works}")

    monkeypatch.setattr(sys.modules["webui.pages.site"], "drift", broken)
    answer = create_app(works, is_local=True).test_client().get("/")
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert "secret" in caplog.text


HOSTILE = "<script>alert(1)</script><b onclick=x>&\"'"


@pytest.fixture
def hostile(vault: Vault, take: Take, export_text: Export, tmp_path: Path) -> Iterator[FlaskClient]:
    """Markup in whatever a person or an export can write."""
    by = "<i>Mira</i>".replace("<", "‹").replace(">", "›") + " <m@x.example>"
    name = HOSTILE.replace('"', "")
    text = export_text("2,5").replace("Setting 3;", f"{name};")
    take(text, note=HOSTILE, work_order=HOSTILE, by=by, to="m1/lift", name="a<b>.csv")
    take(export_text("3", serial=HOSTILE.replace('"', "")), "2026-03-02", override_reason=HOSTILE)
    record = tmp_path / "axis.yaml"
    quoted = "'" + HOSTILE.replace("'", "''") + "'"
    record.write_text(
        f"schema: axisvault/axis/1\ntitle: {quoted}\nnote: {quoted}\n"
        f"cabinet: {{{quoted}: {quoted}}}\n"
    )
    set_axis(vault, Address("m1", "lift"), record, BY)
    fault = FaultEntry(now(), HOSTILE[:40], BY, HOSTILE)
    add_fault(vault, Address("m1", "lift"), fault)
    golden.approve(vault, "m1/lift", BY, HOSTILE)
    yield create_app(vault.repository.path, is_local=True).test_client()


@pytest.mark.parametrize(
    "address",
    [
        "/", "/machine/m1", "/axis/m1/lift", "/axis/m1/lift/at/first", "/restore/m1/lift",
        "/restore/m1/lift/sheet", "/compare?left=m1/lift@first&right=m1/lift", "/audit?place=m1",
        "/axis/m1/lift/parameter/set/3", f"/find?text={HOSTILE}", f"/spread?pattern={HOSTILE}",
        f"/compare?left={HOSTILE}&right={HOSTILE}", f"/machine/{HOSTILE.replace('/', '')}",
    ],
)  # fmt: skip
def test_markup_is_shown_as_text(address: str, hostile: FlaskClient) -> None:
    page = Document(hostile.get(address).text)
    scripts = [attributes for tag, attributes in page.tags if tag == "script"]
    assert all(one in OUR_SCRIPTS for one in scripts)
    assert len(scripts) == (0 if address.endswith("/sheet") else len(OUR_SCRIPTS))
    assert not [a for tag, a in page.tags if "onclick" in a]


def test_the_hostile_text_is_there_to_be_read(hostile: FlaskClient) -> None:
    text = Document(hostile.get("/axis/m1/lift").text).text
    assert text.count(HOSTILE) >= 5


def test_a_page_tells_in_the_units_that_were_asked_for(client: FlaskClient) -> None:
    address = f"/axis/{HOIST}/parameter/mov-133"
    assert "23.622 in/s" in Document(client.get(f"{address}?units=inch").text).text
    assert "0.6 m/s" in Document(client.get(f"{address}?units=si").text).text


def test_a_picture_says_in_words_what_it_shows(client: FlaskClient) -> None:
    text = client.get(f"/axis/{HOIST}/parameter/mov-133").text
    (described,) = re.findall(r"<desc[^>]*>(.*?)</desc>", text)
    assert "2023-01-24 450 mm/s; 2023-02-02 600 mm/s" in described
    assert text.count("<circle") == 7
    assert client.get("/axis/glaze-line-1/turntable/parameter/in/4").text.count("<svg") == 0


def test_what_drifted_stands_first_and_links_to_the_difference(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"), to="m1/belt")
    take(export_text("2,5"), "2026-03-01", name="a.csv")
    golden.approve(vault, "m1/lift", BY, "accepted")
    take(export_text("9"), now().isoformat(), name="b.csv")
    client = create_app(vault.repository.path, is_local=True).test_client()
    text = Document(client.get("/").text).text
    assert text.index("Needs somebody") < text.index("m1/lift") < text.index("m1/belt")
    assert "drifted, 1 parameter ▲ hazard" in text
    assert "Following error window: 2.5 mm became 9 mm" in text  # changed this week
    page = Document(client.get("/axis/m1/lift").text)
    assert "/compare?left=m1/lift@golden&right=m1/lift" in page.links()


def test_the_row_of_an_axis_follows_its_state_and_the_days(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = create_app(vault.repository.path, is_local=True).test_client()

    def row() -> str:
        return Document(client.get("/machine/m1").text).text

    taken = now()
    take(export_text("2,5"), taken.isoformat())
    assert "nothing approved today" in row()
    golden.approve(vault, "m1/lift", BY, "accepted")
    assert "in line today" in row()
    for later, words in ((1, "1 day ("), (9, "9 days (")):
        moment = taken + timedelta(days=later, hours=1)
        monkeypatch.setattr("webui.template_functions.now", lambda moment=moment: moment)
        assert f"in line {words}{taken:%Y-%m-%d})" in row()


def test_the_page_of_a_set_has_every_parameter_whatever_its_group_is_called(
    vault: Vault, take: Take, export_text: Export, family_text: str
) -> None:
    """Also of a dictionary from before groups had to be declared."""
    own = family_text.replace("type: INTEGER16", "type: INTEGER16, group: spindle").encode()
    vault.write_files({layout.family_file("hazel"): own}, "Family hazel\n", BY)
    take(export_text())
    client = create_app(vault.repository.path, is_local=True).test_client()
    page = Document(client.get("/axis/m1/lift/at/latest").text)
    linked = [link.partition("/parameter/")[2] for link in page.links()]
    parameters = client.get("/api/v1/axis/m1/lift/at/latest").json["parameters"]
    assert [code for code in linked if code] == [one["code"] for one in parameters]
    assert len(parameters) == 24
    assert page.text.index("Spindle code name") < page.text.index("set/1")


def test_the_news_of_the_week_follow_an_edit_of_the_axis_record(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text("2,5", "100"))
    take(export_text("2,5", "400"), now().isoformat(), name="b.csv")
    client = create_app(vault.repository.path, is_local=True).test_client()

    def news() -> str:
        return Document(client.get("/").text).text.partition("Changed this week")[2]

    def record(rated_speed: str) -> None:
        path = tmp_path / "axis.yaml"
        mechanics = "mechanics: {kind: ball_screw, lead: 10 mm}"
        motor = f"motor: {{rated_speed: {rated_speed}}}"
        path.write_text(f"schema: axisvault/axis/1\n{mechanics}\n{motor}\n")
        set_axis(vault, Address("m1", "lift"), path, BY)

    assert "Profile velocity: 100 mm/s became 400 mm/s" in news()
    for speed in ("2,000 r/min", "1,000 r/min"):
        record(speed.replace(",", ""))
        assert f"The motor turns at 2,400 r/min, above its rated {speed}." in news()


def test_the_news_of_the_week_tell_what_earlier_exports_of_it_changed_and_its_faults(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    """Also where the latest one changed nothing, and at most three of them."""
    take(export_text("2,5", "100"))
    speeds = ("100", "150", "200", "250", "300", "300")
    for hours, speed in enumerate(speeds, -len(speeds)):
        taken = (now() + timedelta(hours=hours)).isoformat()
        take(export_text("2,5", speed), taken, name=f"{hours}.csv")
    add_fault(vault, Address("m1", "lift"), parse_fault("8611h", BY, note="belt slipped"))
    client = create_app(vault.repository.path, is_local=True).test_client()
    told = Document(client.get("/").text).text.partition("Changed this week")[2]
    assert "No setting changed." not in told
    for before, after in ((150, 200), (200, 250), (250, 300)):
        assert f"Profile velocity: {before} mm/s became {after} mm/s" in told
    assert "became 150 mm/s" not in told
    assert "6 exports this week" in told
    assert "8611h" in told
    assert "belt slipped" in told


def test_a_fault_of_this_week_is_news_where_no_export_came_in(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    take(export_text("2,5", "100"), to="m1/lift")
    client = create_app(vault.repository.path, is_local=True).test_client()
    assert "No export came in" in client.get("/").text
    add_fault(vault, Address("m1", "lift"), parse_fault("8611h", BY))
    told = Document(client.get("/").text).text.partition("Changed this week")[2]
    assert "m1/lift" in told
    assert "Following error too large" in told
    assert "cannot be told" not in told


@pytest.mark.parametrize(
    ("lag", "speed", "words"),
    [
        ("2,5", "100", "0 parameters differ, 24 are equal, 0 only restated, 0 live values."),
        ("9", "100", "1 parameter differs, 23 are equal"),
        ("9", "400", "2 parameters differ, 22 are equal"),
    ],
)
def test_a_difference_counts_in_right_words(
    vault: Vault, take: Take, export_text: Export, lag: str, speed: str, words: str
) -> None:
    take(export_text("2,5", "100"))
    take(export_text(lag, speed), "2026-03-02", name="b.csv")
    client = create_app(vault.repository.path, is_local=True).test_client()
    assert words in Document(client.get("/compare?left=m1/lift@first&right=m1/lift").text).text


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        (8, "3 parameters are the same on both of them."),
        (7, "23 parameters are the same on both of them."),
    ],
)
def test_axes_side_by_side_count_what_is_the_same(
    vault: Vault, take: Take, export_text: Export, settings: int, words: str
) -> None:
    take(export_text(), to="m1/a")
    take(export_text(settings=settings), to="m1/b", name="b.csv")
    client = create_app(vault.repository.path, is_local=True).test_client()
    assert words in Document(client.get("/spread?pattern=m1/*").text).text


def test_what_became_of_a_parameter_stands_under_a_heading_of_its_own(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"))
    take(export_text("9"), "2026-03-02", name="b.csv")
    client = create_app(vault.repository.path, is_local=True).test_client()
    text = client.get("/axis/m1/lift/parameter/lim/lag").text
    cells = re.findall(r'<td data-head="([^"]*)">(.*?)</td>', text)
    assert [cell for cell in cells if cell[0] == cell[1]] == []
    assert ("what became of it", "changed") in cells


def test_hardware_in_the_fields_of_a_page_is_read_as_the_options_of_the_command_are(
    client: FlaskClient, works: Path, cli: Cli, tmp_path: Path
) -> None:
    shutil.copytree(works, tmp_path / "copy")  # a plan that is made is kept
    query = "firmware=2.43.1&encoder_bits=24%2B12&rated_current=3.5"
    page = client.get(f"/api/v1/restore/glaze-line-2/lift?{query}").json
    options = ("--firmware", "2.43.1", "--encoder-bits", "24+12", "--rated-current", "3.5")
    command = ("--vault", "copy", "restore", "plan", "glaze-line-2/lift", "--out", "out", "--json")
    assert page["onto"]["fitted"] == cli(*command, *options).json["onto"]["fitted"]
    assert page["onto"]["fitted"]["encoder_multi_turn_bits"] == 12
    wrong = client.get("/api/v1/restore/glaze-line-2/lift?encoder_bits=many").json["error"]
    assert wrong["message"] == "encoder bits: 'many' is no such number"
    assert wrong["message"] in cli(*command, "--encoder-bits", "many").stderr


def test_nobody_is_called_odd_where_there_is_no_majority(
    vault: Vault, take: Take, export_text: Export
) -> None:
    for axis, lag, speed in (("a", "1", 500), ("b", "2", 500), ("c", "3", 700)):
        take(export_text(lag, str(speed)), to=f"m1/{axis}")
    client = create_app(vault.repository.path, is_local=True).test_client()
    text = Document(client.get("/spread?pattern=m1/*").text).text
    assert "Following error window (no majority)" in text
    assert text.count("(odd one out)") == 1
    assert "700 mm/s (odd one out)" in text


def test_an_empty_vault_says_how_to_begin(tmp_path: Path) -> None:
    Vault.create(tmp_path / "new", "Works", BY).close()
    client = create_app(tmp_path / "new", is_local=True).test_client()
    assert "axisvault ingest EXPORT --to machine/axis" in Document(client.get("/").text).text
    for address in ("/families", "/health", "/audit"):
        assert client.get(address).status_code == 200


def test_figures_for_monitoring_are_openmetrics(
    vault: Vault, take: Take, export_text: Export
) -> None:
    """Against the parser of OpenMetrics 1.0.0 in the library prometheus-client."""
    take(export_text("2,5"))
    golden.approve(vault, "m1/lift", BY, "accepted")
    take(export_text("9"), "2026-03-02", name="b.csv")
    take(export_text("2,5"), to="m1/belt")
    client = create_app(vault.repository.path, is_local=True).test_client()
    client.get("/")
    answer = client.get("/metrics")
    assert answer.content_type.startswith("application/openmetrics-text; version=1.0.0")
    families = {one.name: one for one in text_string_to_metric_families(answer.text)}
    samples = {
        (sample.name, *sorted(sample.labels.values())): sample.value
        for family in families.values()
        for sample in family.samples
    }
    assert samples["axisvault_axes", "drifted"] == 1
    assert samples["axisvault_axes", "no_golden"] == 1
    assert samples["axisvault_snapshots",] == 3
    assert families["axisvault_ingest_failures"].type == "counter"
    assert samples["axisvault_request_seconds_count",] >= 1
    assert samples["axisvault_request_seconds_bucket", "+Inf"] >= 1
    assert samples["axisvault_request_seconds_sum",] > 0


def test_the_sheet_keeps_its_own_policy(client: FlaskClient) -> None:
    answer: Any = client.get(f"/restore/{HOIST}/sheet")
    assert answer.headers["Content-Security-Policy"] == (
        "default-src 'none'; style-src 'unsafe-inline'; img-src data:; form-action 'none';"
        " base-uri 'none'"
    )
    assert "Restore sheet" in answer.text


def test_an_audit_dates_what_it_holds_against_as_the_command_does(
    client: FlaskClient, works: Path, cli: Cli
) -> None:
    asked = ("audit", HOIST, "--fault", "F-11", "--to", "2026-01-01")
    printed = " ".join(cli("--vault", works, *asked).stdout.split())
    told = re.search(r"golden baseline[^.(]* \((\d{4}-\d{2}-\d{2} \d{2}:\d{2}, [^)]+)\)\.", printed)
    assert told is not None, printed
    page = Document(client.get(f"/audit?place={HOIST}&fault=F-11&to=2026-01-01").text)
    assert f"({told[1]})." in page.text
