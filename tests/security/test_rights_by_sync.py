"""A copy or a bundle gives nobody rights: what it would change of them needs somebody here.

The plant, people, keys and the receiver (on loopback, of this test) are invented.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Outcome
from tests.jobs.verify.test_verify_signatures import new_key
from tests.receivers import WebServer, web_server
from tests.security.hostile_copies import (
    BY,
    LIFT,
    MALLORY,
    SITE,
    STRICT,
    YARA,
    Export,
    Take,
    drifting,
    place,
    refused,
    write,
)
from vault.jobs.alerts.confirm import confirm_channel
from vault.jobs.alerts.deliver import deliver_from, try_channel, waiting
from vault.jobs.alerts.raise_alerts import raise_alerts
from vault.jobs.audit.audit import audit
from vault.jobs.audit.question import Question
from vault.jobs.baseline.golden import approve, waive, withdraw
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.records.edit import set_signers, set_site
from vault.jobs.sync.incoming import ConsentNeeded
from vault.jobs.sync.sync import look
from vault.jobs.sync.sync import take as sync_take
from vault.jobs.verify.verify import verify
from vault.model.errors import Damaged, Refused, VaultError, WrongUsage
from vault.model.golden import Allowance, Approval, Golden, Waiver
from vault.store.clock import parse_time
from vault.store.files import layout
from vault.store.files.golden_text import golden_text
from vault.store.git.signing import VARIABLE
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault


@pytest.fixture
def receiver() -> Iterator[WebServer]:
    with web_server() as server:
        yield server


@pytest.mark.parametrize(
    ("path", "text", "kind"),
    [
        (layout.VAULT, STRICT.replace("second_person: true", "second_person: false"), "policy"),
        (layout.VAULT, STRICT + "signing: {required: true}\n", "policy"),
        (layout.VAULT, STRICT + "export_every: 9000 days\n", "policy"),
        (layout.VAULT, STRICT + "hazards: {material_share: 0.5}\n", "policy"),
        (layout.VAULT, STRICT + "viewer: http://elsewhere.example\n", "policy"),
        (layout.VAULT, STRICT.replace("Tile works", "Brick works"), "policy"),
        (layout.VAULT, STRICT + "open_reading: true\n", "open reading"),
        (layout.VAULT, STRICT + "alerts: [{name: a, kind: syslog, host: 10.0.0.9}]\n", "channels"),
        (layout.SIGNERS, "mallo@elsewhere.example ssh-ed25519 " + "A" * 60 + "\n", "signers"),
    ],
)
def test_what_says_who_may_do_what_needs_consent_to_policy(
    vault: Vault, other: Vault, take: Take, export_text: Export, path: str, text: str, kind: str
) -> None:
    take(export_text("3"), "2026-03-02T08:00:00+00:00", into=other)
    before = vault.read(path)
    write(other, path, text, MALLORY)
    told = refused(vault, other, "policy")
    assert [(one.path, one.kind, one.author) for one in told.changes] == [(path, kind, MALLORY)]
    with pytest.raises(ConsentNeeded):
        sync_take(vault, place(other), BY, accepted=["golden"])
    kept = sync_take(vault, place(other), BY, "here")
    assert (kept.snapshots, vault.read(path)) == (1, before)
    assert (path, "here") in kept.kept
    assert verify(vault).problems == []
    assert sync_take(vault, place(other), BY).is_nothing
    vault.refresh()
    assert vault.read(path) == before


def test_with_consent_it_comes_and_comments_need_none(vault: Vault, other: Vault) -> None:
    write(other, layout.VAULT, "# hall 2\n" + STRICT, MALLORY)
    sync_take(vault, place(other), BY)
    changed = STRICT.replace("second_person: true", "second_person: false")
    write(other, layout.VAULT, changed, MALLORY)
    sync_take(vault, place(other), BY, accepted=["policy"])
    assert vault.read(layout.VAULT) == changed.encode()


def test_a_vault_yaml_that_is_gone_is_damage(vault: Vault, other: Vault) -> None:
    write(other, layout.VAULT, None, MALLORY)
    with pytest.raises(VaultError, match=r"vault\.yaml"):
        sync_take(vault, place(other), BY, accepted=["policy", "golden"])


def golden(vault: Vault, by: str = YARA, waivers: tuple[Waiver, ...] = (), **changed: Any) -> str:
    """The text of an honest baseline, with something said otherwise."""
    snapshot = vault.latest(LIFT)
    assert snapshot is not None
    moment = parse_time("2026-03-02T08:00:00+00:00")
    approval = Approval(snapshot.id, vault.tip, by, moment, "tried")
    return golden_text(Golden(replace(approval, **changed), waivers)).decode()


def test_a_baseline_that_holds_by_the_policy_here_comes_by_itself(
    vault: Vault, other: Vault
) -> None:
    approve(other, "m1/lift", YARA, "tried")
    sync_take(vault, place(other), BY)
    approval = vault.golden(LIFT).approval
    assert approval is not None
    assert approval.by == YARA
    waive(
        other,
        LIFT,
        parse_waiver_request("lim/lag", allow="any", until="2099-01-01", reason="worn"),
        YARA,
    )
    sync_take(vault, place(other), BY)
    assert [waiver.by for waiver in vault.golden(LIFT).waivers] == [YARA]


@pytest.mark.parametrize(
    ("text", "author", "why"),
    [
        (lambda v: golden(v, BY), BY, "cannot approve it"),
        (lambda v: golden(v), MALLORY, f"names {YARA}, and {MALLORY} wrote it"),
        (lambda v: golden(v, reason=None), YARA, "needs a reason"),
        (lambda v: golden(v, snapshot=v.tip), YARA, "no snapshot of this axis"),
        (lambda v: golden(v, vault_at="0" * 40), YARA, "on a history that is not there"),
    ],
)
def test_a_baseline_that_does_not_hold_here_needs_consent(
    vault: Vault, other: Vault, text: Callable[[Vault], str], author: str, why: str
) -> None:
    write(other, layout.golden_file(LIFT), text(other), author)
    told = refused(vault, other, "golden")
    assert why in str(told)
    assert sync_take(vault, place(other), BY, "here").kept
    assert vault.golden(LIFT).approval is None


@pytest.mark.parametrize("name", ["main", "HEAD", "main~1", "0123456"])
def test_a_baseline_that_names_no_whole_id_is_damage(vault: Vault, other: Vault, name: str) -> None:
    write(other, layout.golden_file(LIFT), golden(other, snapshot=name), YARA)
    with pytest.raises(Damaged, match="no whole commit id"):
        sync_take(vault, place(other), BY, accepted=["golden"])
    problems = [problem for problem in verify(other).problems if problem.kind == "golden"]
    assert problems, "verify names it too"


def test_a_baseline_of_another_axis_cannot_be_brought_in(
    vault: Vault, other: Vault, take: Take, export_text: Export
) -> None:
    belt = take(export_text("7"), to="m1/belt", into=other).snapshot.id
    write(other, layout.golden_file(LIFT), golden(other, snapshot=belt), YARA)
    with pytest.raises((ConsentNeeded, Damaged)):
        sync_take(vault, place(other), BY)
    with pytest.raises(Damaged, match="is not there"):
        sync_take(vault, place(other), BY, accepted=["golden"])


def test_withdrawing_and_forged_waivers_need_consent(vault: Vault, other: Vault) -> None:
    approve(other, "m1/lift", YARA, "tried")
    sync_take(vault, place(other), BY)
    approval = other.golden(LIFT).approval
    waiver = Waiver(
        "lim/lag", Allowance.parse("any"), "2099-01-01", YARA, parse_time("2026-03-03"), "so"
    )
    forged = golden_text(Golden(approval, (waiver,))).decode()
    write(other, layout.golden_file(LIFT), forged, MALLORY)
    assert "waiver for lim/lag" in str(refused(vault, other, "golden"))
    withdraw(other, LIFT, YARA, "no more")
    told = refused(vault, other, "golden")
    assert "withdrawn" in str(told)
    assert vault.golden(LIFT).approval is not None


def test_look_shows_all_that_would_come_and_takes_nothing(
    vault: Vault, other: Vault, take: Take, export_text: Export, cli: Callable[..., Outcome],
    tmp_path: Path,
) -> None:  # fmt: skip
    take(export_text("3"), "2026-03-02T08:00:00+00:00", into=other)
    write(other, layout.VAULT, STRICT + "open_reading: true\n", MALLORY)
    write(other, layout.axis_file(LIFT), "schema: axisvault/axis/1\ntitle: Lift\n", YARA)
    write(other, layout.family_file("hazel"), None, MALLORY)
    tip = vault.tip
    done = cli("sync", "look", place(other), "--json")
    assert done.code == 0, done.stderr
    assert (done.json["snapshots"], done.json["axes"]) == (1, ["m1/lift"])
    found = [(one["kind"], one["author"], one["needs"]) for one in done.json["changes"]]
    assert sorted(found) == sorted(
        [("open reading", MALLORY, "policy"), ("axis", YARA, None), ("deletion", MALLORY, "policy")]
    )
    assert "needs --accept policy: who may read" in cli("sync", "look", place(other)).stdout
    vault.refresh()
    assert vault.tip == tip
    taken = cli("sync", "take", place(other), "--json")
    assert taken.code == 3
    assert [one["kind"] for one in taken.json["error"]["changes"]] == [
        one["kind"] for one in done.json["changes"]
    ]
    assert look(vault, place(other), BY).snapshots == 1


def channel(server: WebServer, name: str = "office") -> str:
    entry = f"name: {name}, kind: webhook, url: '{server.url}', token: {{env: AXIS_TOKEN}}"
    return f"alerts: [{{{entry}}}]\n"


def test_a_channel_that_came_along_sends_nothing_until_somebody_here_confirms_it(
    vault: Vault, other: Vault, take: Take, export_text: Export, receiver: WebServer,
    monkeypatch: pytest.MonkeyPatch, cli: Callable[..., Outcome],
) -> None:  # fmt: skip
    monkeypatch.setenv("AXIS_TOKEN", "a secret of this computer")
    write(other, layout.VAULT, STRICT + channel(receiver), MALLORY)
    sync_take(vault, place(other), BY, accepted=["policy"])
    warnings = drifting(vault, take, export_text)
    assert any("alerts confirm office" in remark for remark in warnings)
    deliver_from(vault.repository.path, early=True)
    with pytest.raises(Refused, match="confirmed channel office"):
        try_channel(vault, vault.site_record.alerts, "office")
    assert receiver.requests == []
    held = waiting(vault.state, vault.site_record.alerts)
    assert [one.is_unconfirmed for one in held] == [True]
    assert "alerts confirm office" in cli("alerts", "list").stdout
    done = cli("alerts", "confirm", "office", "--json")
    assert (done.code, done.json["kind"]) == (0, "webhook")
    deliver_from(vault.repository.path, early=True)
    assert len(receiver.requests) == 1
    assert receiver.requests[0][0]["Authorization"] == "Bearer a secret of this computer"


def test_a_known_channel_that_was_bent_elsewhere_sends_nothing(
    vault: Vault, other: Vault, take: Take, export_text: Export, receiver: WebServer,
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
) -> None:  # fmt: skip
    monkeypatch.setenv("AXIS_TOKEN", "a secret of this computer")
    with web_server() as honest:
        (tmp_path / "site.yaml").write_text(STRICT + channel(honest))
        set_site(vault, tmp_path / "site.yaml", BY)
        write(other, layout.VAULT, STRICT + channel(receiver), MALLORY)
        with pytest.raises(Refused):
            sync_take(vault, place(other), BY)
        sync_take(vault, place(other), BY, "there", accepted=["policy"])
        drifting(vault, take, export_text)
        raise_alerts(vault)
        deliver_from(vault.repository.path, early=True)
        assert (honest.requests, receiver.requests) == ([], [])


def test_channels_that_an_older_outbox_knows_stay_confirmed_as_they_are(
    vault: Vault, other: Vault, take: Take, export_text: Export, receiver: WebServer,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setenv("AXIS_TOKEN", "a secret of this computer")
    with web_server() as honest:
        write(vault, layout.VAULT, STRICT + channel(honest), BY)
        drifting(vault, take, export_text)
        raise_alerts(vault)
        with Outbox(vault.state) as outbox:  # as one of the version before is brought up to date
            outbox._database.execute(
                "INSERT OR REPLACE INTO confirmed VALUES ('office', NULL, NULL, 'known before', 0)"
            )
        write(other, layout.VAULT, STRICT + channel(receiver), MALLORY)
        sync_take(vault, place(other), BY, "there", accepted=["policy"])
        deliver_from(vault.repository.path, early=True)
        assert receiver.requests == [], "it stands for what it was when the bundle came"
        write(vault, layout.VAULT, STRICT + channel(honest), BY)
        vault.refresh()
        deliver_from(vault.repository.path, early=True)
        assert len(honest.requests) == 1


@pytest.mark.parametrize("by_link", [False, True])
def test_a_file_channel_writes_below_its_named_folder_only(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, by_link: bool
) -> None:
    take(export_text("2,5"), "2026-03-01T08:00:00+00:00")
    logs, elsewhere = tmp_path / "logs", tmp_path / "elsewhere"
    logs.mkdir()
    elsewhere.mkdir()
    entry = f"alerts: [{{name: log, kind: file, path: {logs}/axes.jsonl}}]\n"
    (tmp_path / "site.yaml").write_text(STRICT + entry)
    set_site(vault, tmp_path / "site.yaml", BY)
    if by_link:
        (logs / "axes.jsonl").symlink_to(elsewhere / "target")
        (elsewhere / "target").write_text("")
    drifting(vault, take, export_text)
    raise_alerts(vault)
    done = deliver_from(vault.repository.path, early=True)
    assert (len(done.sent), len(done.failed)) == ((0, 1) if by_link else (1, 0))
    if by_link:
        assert (elsewhere / "target").read_text() == ""
    with pytest.raises(WrongUsage, match="writes nothing below"):
        confirm_channel(vault, "log", BY, elsewhere)


@pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="no ssh-keygen")
def test_a_signature_counts_for_its_own_author_only(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mira, mallo = new_key(tmp_path, "mira"), new_key(tmp_path, "mallo")
    lines = [
        f"{key.name}@tileworks.example {key.with_suffix('.pub').read_text()}"
        for key in (mira, mallo)
    ]
    (tmp_path / "signers").write_text("".join(lines))
    set_signers(vault, tmp_path / "signers", BY)
    (tmp_path / "site.yaml").write_text(SITE + "signing: {required: true}\n")
    set_site(vault, tmp_path / "site.yaml", BY)
    monkeypatch.setenv(VARIABLE, str(mira))
    take(export_text("1"), "2026-03-01T08:00:00+00:00")
    assert verify(vault).problems == []
    monkeypatch.setenv(VARIABLE, str(mallo))
    take(export_text("2"), "2026-03-02T08:00:00+00:00")  # by Mira, as it says
    (problem,) = verify(vault).problems
    assert problem.kind == "signature"
    assert f"its author is {BY}, and it is signed by mallo@tileworks.example" in problem.details


def test_an_audit_tells_changes_of_signers_and_policy(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text("1"), "2026-03-01T08:00:00+00:00")
    (tmp_path / "signers").write_text(f"mira@tileworks.example ssh-ed25519 {'A' * 60}\n")
    set_signers(vault, tmp_path / "signers", BY)
    (tmp_path / "site.yaml").write_text(STRICT)
    set_site(vault, tmp_path / "site.yaml", YARA)
    titles = [getattr(entry, "title", "") for entry in audit(vault, Question("m1")).entries]
    assert "Allowed signers" in titles
    assert "Site and its policies" in titles


def test_the_document_of_a_look_is_json(vault: Vault, other: Vault) -> None:
    from vault.jobs.sync.documents import looked_document

    write(other, layout.VAULT, STRICT + "open_reading: true\n", MALLORY)
    assert json.loads(json.dumps(looked_document(look(vault, place(other), BY))))["changes"]
