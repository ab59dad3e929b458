"""Every address below /api/v1 answers with the document that its route names, key by key."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from example_machines import __file__ as example
from tests.documents import Seen, problems
from tests.webui.visiting import Visit, add_people, token_for
from vault.cli.documents import DOCUMENTS
from webui.app import create_app
from webui.documents import HttpErrorDocument
from webui.page import Route
from webui.routes import ROUTES
from webui.schemas import documents_within
from webui.work_documents import WorkDocument

LIFT = "glaze-line-1/lift"
EXPORT = (Path(example).parent / f"exports/{LIFT}/2025-11-18-as-left.dcf").read_bytes()
TRACE = (Path(example).parent / "traces/glaze-line-1-lift.csv").read_bytes()
OFFERED = {route.rule: route for route in ROUTES if route.offered}
_AXIS = "/axis/<machine_name>/<axis_name>"
_RESTORE = "/restore/<machine_name>/<axis_name>"

# Acts in their order, and what is typed; EXPORT stands for a file that is sent.
ACTS: list[tuple[str, dict[str, str], dict[str, Any]]] = [
    (_AXIS, {}, {"code": "8611h", "at": "2026-01-05T10:00:00Z", "note": "at night"}),
    (f"{_AXIS}/record", {}, {"do": "look", "mechanics.lead": "far", "duty.rms_force": "1 N*m"}),
    ("/take-in", {}, {"axis": LIFT, "export": EXPORT, "even_so": "again", "taken_at": "now"}),
    (f"{_AXIS}/golden", {}, {"do": "approve", "when": "latest", "reason": "accepted"}),
    ("/baselines", {}, {"do": "approve", "axis": "glaze-line-2/lift", "reason": "accepted"}),
    ("/baselines", {}, {"do": "waive", "axis": LIFT, "code": "following_error_window",
                        "until": "2099-12-31", "reason": "worn"}),
    ("/baselines", {}, {"do": "interval", "axis": LIFT, "every": "30 days"}),
    (_RESTORE, {}, {"when": "golden"}),
    (f"{_RESTORE}/plan/<number>", {"number": "PLAN"}, {"do": "tick", "tick": "hardware.0"}),
    (f"{_RESTORE}/check", {}, {"do": "check", "export": EXPORT, "moved": "10 mm=10.1 mm",
                               "even_so": "again"}),
    (f"{_AXIS}/trial", {}, {"direction.positive": "failed", "moves.0.commanded": "10",
                            "moves.0.measured": "5", "note": "windy", "jog.stops": "ok",
                            "remark.jog.stops": "late"}),
    (f"{_AXIS}/trace", {}, {"trace": TRACE, "move": "up", "taken_at": "2025-11-19"}),
    (f"{_AXIS}/trace", {}, {"trace": TRACE, "move": "up", "taken_at": "2025-11-20"}),
    (f"{_RESTORE}/check", {}, {"do": "sign-off", "even_so": "it is meant"}),
    ("/audit", {}, {"place": "kiln-loader/hoist", "fault": "F-11"}),
    ("/health", {}, {"what": "all"}),
]  # fmt: skip
SEARCHED = ("kiln", "following", "F-11", "yara", "larch", "following eror", "SNAPSHOT")
READS: list[tuple[str, dict[str, str], dict[str, Any]]] = [
    ("/", {}, {}),
    ("/machine/<machine_name>", {}, {}),
    (_AXIS, {}, {}),
    (f"{_AXIS}/at/<when>", {"when": "latest"}, {}),
    (f"{_AXIS}/at/<when>/check", {"when": "previous"}, {}),
    (f"{_AXIS}/record", {}, {}),
    (f"{_AXIS}/trial", {}, {}),
    (f"{_AXIS}/trial/<name>", {"name": "latest"}, {}),
    (f"{_AXIS}/trace", {}, {}),
    (f"{_AXIS}/trace/<name>", {"name": "latest"}, {}),
    (f"{_AXIS}/margins", {}, {}),
    (f"{_AXIS}/margins/over-time", {}, {}),
    (f"{_AXIS}/at/<when>/margins", {"when": "first"}, {}),
    (f"{_AXIS}/parameter/<path:code>", {"path:code": "0x6065:00"}, {}),
    ("/compare", {}, {"left": f"{LIFT}@first", "right": LIFT, "fault": "8611h", "all": "1"}),
    ("/compare", {}, {"left": "kiln-loader/hoist", "right": "glaze-line-1/turntable"}),
    ("/compare", {}, {"left": "glaze-line-1", "right": "glaze-line-2"}),
    ("/compare", {}, {}),
    ("/spread", {}, {"pattern": "*/lift"}),
    ("/spread", {}, {"pattern": "*/lift", "margins": "1"}),
    ("/spread", {}, {}),
    ("/find", {}, {"text": "following_error_window"}),
    ("/find", {}, {}),
    *(("/search", {}, {"text": text}) for text in SEARCHED),
    ("/search", {}, {}),
    ("/faults", {}, {"code": "F-11"}),
    ("/waivers", {}, {"days": "36500"}),
    ("/alerts", {}, {}),
    ("/families", {}, {}),
    ("/families/<name>", {"name": "larch"}, {}),
    (f"{_AXIS}/golden", {}, {}),
    ("/baselines", {}, {}),
    ("/baselines", {}, {"act": "waive"}),
    ("/baselines", {}, {"act": "interval", "every": "40 days"}),
    ("/baselines", {}, {"act": "waive", "code": "following_error_window", "until": "2099-12-31"}),
    ("/take-in", {}, {}),
    (_RESTORE, {}, {"drive": "ALD-5A"}),
    (f"{_RESTORE}/plan/<number>", {"number": "PLAN"}, {}),
    (f"{_RESTORE}/check", {}, {}),
    (f"{_RESTORE}/checked/<snapshot>", {"snapshot": "SNAPSHOT"}, {}),
    ("/audit", {}, {"place": LIFT}),
    ("/audit", {}, {}),
    ("/health", {}, {}),
    ("/manual", {}, {"text": "witness"}),
    ("/manual/<topic>", {"topic": "trust"}, {}),
    ("/work", {}, {}),
    ("/work/<work_id>", {"work_id": "WORK"}, {}),
]


@pytest.fixture(scope="module")
def site(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[FlaskClient]:
    """A client of the example vault, who may do everything."""
    folder = tmp_path_factory.mktemp("documents") / "vault"
    shutil.copytree(works, folder)
    add_people(folder)
    app = create_app(folder, is_local=True)
    client = app.test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = token_for(folder, "admin")["Authorization"]
    yield client
    app.extensions["work_queue"].wait(60)


def address(rule: str, places: dict[str, str]) -> str:
    places = {"machine_name": "glaze-line-1", "axis_name": "lift", **places}
    for name, text in places.items():
        rule = rule.replace(f"<{name}>", text)
    assert "<" not in rule
    return f"/api/v1{rule}"


class Held:
    """Answers that were held against the documents of their routes."""

    def __init__(self) -> None:
        self.seen = Seen()
        self.wrong: list[str] = []

    def hold(self, what: str, answer: Any, document: object) -> Any:
        assert answer.status_code == 200, f"{what}: {answer.text}"
        self.wrong += [f"{what}{one}" for one in problems(answer.json, document, self.seen)]
        return answer.json


def acted(site: FlaskClient, held: Held) -> tuple[dict[str, str], list[str]]:
    """Do everything that can be done; gives names of what came of it, and ids of work."""
    known, begun = {}, []
    for rule, places, fields in ACTS:
        sent = {
            name: (BytesIO(value), "lift.dcf") if isinstance(value, bytes) else value
            for name, value in fields.items()
        }
        form = OFFERED[rule].form
        assert form is not None
        told = {name: known.get(text, text) for name, text in places.items()}
        answer = site.post(address(rule, told), data=sent)
        found = held.hold(f"POST {rule}", answer, form.document)
        if "restored" in found:
            known["SNAPSHOT"] = found["snapshot"]
        if rule == _RESTORE:
            known["PLAN"] = found["number"]
        if set(found) == {"work"}:
            begun.append(found["work"])
            site.application.extensions["work_queue"].wait(60)
    return known, begun


def stored(site: FlaskClient) -> Any:
    """Work that stored an export which was looked at first."""
    person = Visit(site.application)
    person.log_in("admin")
    form: dict[str, Any] = {"export": (BytesIO(EXPORT), "lift.dcf"), "axis": LIFT}
    waiting = person.send("/take-in", **form).headers["Location"]
    chosen = {"axis-0": LIFT, "even_so-0": "again", "taken_at-0": "now", "do": "store"}
    work = person.send(waiting, **chosen).headers["Location"]
    site.application.extensions["work_queue"].wait(60)
    found: Any = site.get(f"/api/v1{work}").json
    assert found["data"]["stored"], found["sentences"]
    return found


def test_every_answer_is_the_document_that_its_route_names(site: FlaskClient) -> None:
    held = Held()
    known, begun = acted(site, held)
    known["WORK"] = begun[0]
    for rule, places, query in READS:
        told = {name: known.get(text, text) for name, text in places.items()}
        asked = {name: known.get(text, text) for name, text in query.items()}
        answer = site.get(address(rule, told), query_string=asked)
        held.hold(f"GET {rule}", answer, OFFERED[rule].document)
    for work in begun:
        found = held.hold(
            "work", site.get(f"/api/v1/work/{work}"), OFFERED["/work/<work_id>"].document
        )
        assert found["state"] == "done", found["sentences"]
    held.wrong += [*problems(stored(site), WorkDocument, held.seen)]
    assert held.wrong == []
    unfilled = held.seen.missing(each for route in OFFERED.values() for each in route.documents)
    # Whole documents that commands print too are filled in test_command_documents.
    of_commands = {each.__name__ for each in documents_within(DOCUMENTS.values())}
    of_commands.add("PlanWorkDocument")  # of work that an older program began, kept two weeks
    assert [name for name in unfilled if name not in of_commands] == []


@pytest.mark.parametrize("name", ["even_so", "override_reason"])
def test_a_reason_has_one_name_in_every_form_and_an_older_one_is_still_read(
    name: str, site: FlaskClient
) -> None:
    fields = [set(route.form.fields) for route in ROUTES if route.form is not None]
    assert not [one for one in fields if "override_reason" in one and "even_so" not in one]
    where = address(_RESTORE, {})
    plan: Any = site.get(where, query_string={name: "it is meant"}).json
    assert (plan["even_so"], plan["override_reason"]) == ("it is meant", "it is meant")
    sent = site.post(f"/restore/{LIFT}", data={name: "it is meant", "do": "look"})
    assert sent.headers["Location"].endswith("even_so=it+is+meant"), sent.text


def offered(route: Route) -> set[tuple[str, str]]:
    return {(route.rule, method) for method in route.offered}


def test_every_address_is_asked_here() -> None:
    asked = {(rule, "GET") for rule, *_ in READS} | {(rule, "POST") for rule, *_ in ACTS}
    assert asked == {one for route in OFFERED.values() for one in offered(route)}


def test_every_address_names_its_documents() -> None:
    assert [route.rule for route in OFFERED.values() if None in route.documents] == []


@pytest.mark.parametrize(
    ("path", "status"),
    [("/machine/nothing", 404), ("/nothing", 404), ("/compare?left=glaze-line-1/lift", 404)],
)
def test_an_error_is_the_document_of_errors(site: FlaskClient, path: str, status: int) -> None:
    answer = site.get(f"/api/v1{path}")
    assert answer.status_code == status
    assert [*problems(answer.json, HttpErrorDocument, Seen())] == []
