"""A site that writes a decimal comma, the day first, and the time of its own zone."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome, Take
from vault.store.vault import Vault

SITE = """\
schema: axisvault/vault/1
site: Tile works (invented)
written: {decimal: comma, dates: day.month.year, zone: Europe/Berlin}
"""
Cli = Callable[..., Outcome]


@pytest.fixture
def comma(
    vault: Vault, take: Take, export_text: Callable[..., str], cli: Cli, tmp_path: Path
) -> Cli:
    """The command line on a vault of such a site, with two snapshots of an axis."""
    (tmp_path / "site.yaml").write_text(SITE)
    take(export_text("2,5", "1200"), "2026-03-01T08:00:00+01:00")
    take(export_text("3,25", "1200"), "2026-04-01T08:00:00+02:00")
    done = cli("site", "set", "site.yaml")
    assert done.code == 0, done.stderr
    return cli


def test_sentences_and_tables_have_the_sites_marks_and_dates(comma: Cli) -> None:
    told = comma("compare", "m1/lift@previous", "m1/lift").stdout
    assert "01.03.2026 08:00" in told
    assert "Following error window: 2,5 mm became 3,25 mm" in told
    assert "1.200 mm/s" in comma("show", "m1/lift").stdout


def test_a_time_of_another_zone_has_its_offset_beside_it(
    comma: Cli, take: Take, export_text: Callable[..., str]
) -> None:
    take(export_text("3,5"), "2026-04-02T08:00:00-04:00")
    told = comma("history", "m1/lift").stdout
    assert "02.04.2026 08:00 -04:00" in told
    assert "01.04.2026 08:00, " in told


def test_what_is_printed_can_be_typed(comma: Cli) -> None:
    found = comma("find", "following_error_window", "--value", "> 2,6 mm", "--json")
    [one] = json.loads(found.stdout)["found"]
    assert one["value"] == "3.25"
    assert json.loads(comma("show", "m1/lift@15.03.2026", "--json").stdout)["parameters"]
    assert comma("show", "m1/lift@28.02.2026").code == 2
    audit = json.loads(
        comma("audit", "m1", "--from", "01.03.2026", "--to", "02.03.2026", "--json").stdout
    )
    assert audit["period"] == {
        "from": "2026-03-01T00:00:00+01:00",
        "to": "2026-03-02T23:59:59.999999+01:00",
    }


def test_a_waiver_is_kept_in_the_form_of_files(comma: Cli, vault: Vault) -> None:
    assert comma("golden", "approve", "m1/lift@first", "--reason", "tried").code == 0
    done = comma(
        "golden", "waive", "m1/lift", "lim/lag", "--allow", "2,5..3,5 mm",
        "--until", "31.12.2099", "--reason", "worn",
    )  # fmt: skip
    assert "may be 2,5 mm..3,5 mm until 31.12.2099" in done.stdout
    [waiver] = json.loads(comma("golden", "show", "m1/lift", "--json").stdout)["waivers"]
    assert (waiver["allow"], waiver["until"]) == ("2.5 mm..3.5 mm", "2099-12-31")
    assert json.loads(comma("drift", "--json").stdout)["axes"][0]["waived"] == 1


def test_numbers_of_json_do_not_depend_on_the_site(comma: Cli) -> None:
    [change] = json.loads(comma("compare", "m1/lift@previous", "m1/lift", "--json").stdout)[
        "changes"
    ]
    assert (change["left"]["value"], change["right"]["value"]) == ("2.5", "3.25")
    assert change["left"]["physical"] == {"value": "0.0025", "unit": "m"}


def test_an_axis_record_is_read_the_same_on_every_site(comma: Cli, tmp_path: Path) -> None:
    (tmp_path / "axis.yaml").write_text(
        "schema: axisvault/axis/1\nmechanics: {kind: ball_screw, lead: 1.200 mm}\n"
    )
    assert comma("axis", "set", "m1/lift", "axis.yaml").code == 0
    assert "1.2" in json.dumps(json.loads(comma("axis", "show", "m1/lift", "--json").stdout))


def test_drift_that_was_kept_is_told_anew_when_the_site_changes_its_form(
    comma: Cli, tmp_path: Path
) -> None:
    assert comma("golden", "approve", "m1/lift@first", "--reason", "tried").code == 0
    assert "2,5 mm became 3,25 mm" in comma("drift", "m1/lift").stdout
    (tmp_path / "site.yaml").write_text(SITE.replace("comma", "point"))
    assert comma("site", "set", "site.yaml").code == 0
    assert "2.5 mm became 3.25 mm" in comma("drift", "m1/lift").stdout


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("{zone: Tile/Works}", "no time zone has this name"),
        ("{decimal: ';'}", "written"),
        ("{dates: american}", "written"),
    ],
)
def test_a_form_that_there_is_not_is_refused_with_its_place(
    comma: Cli, tmp_path: Path, line: str, told: str
) -> None:
    (tmp_path / "site.yaml").write_text(
        f"schema: axisvault/vault/1\nsite: Hall 2\nwritten: {line}\n"
    )
    done = comma("site", "set", "site.yaml")
    assert done.code == 4
    assert told in done.stderr
