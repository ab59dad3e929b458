"""Live values that a family may have: proposed by visits, confirmed by a person."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.families.learn import confirm_live, may_be_live
from vault.jobs.records.edit import add_family
from vault.model.errors import WrongUsage
from vault.store.vault import Vault

# Invented exports of the invented family hazel, of which set/1 to set/3 are read-only here.


@pytest.fixture
def learning(vault: Vault, tmp_path: Path, family_text: str) -> Vault:
    text = family_text
    for number in (1, 2, 3):
        text = text.replace(
            f"{{name: Setting {number}, type", f"{{name: Setting {number}, access: ro, type"
        )
    path = tmp_path / "learning.yaml"
    path.write_text(text, encoding="utf-8")
    add_family(vault, path, BY)
    return vault


def export(text: str, **values: int) -> str:
    for number, value in values.items():
        line = next(row for row in text.splitlines() if row.startswith(f"set/{number[1:]};"))
        text = text.replace(line, f"set/{number[1:]};Setting {number[1:]};{value};")
    return text


def test_what_differs_within_a_visit_and_is_read_only_is_proposed(
    learning: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    plain = export_text()
    take(plain, "2026-03-01T08:00:00", name="a.csv")
    take(export(plain, s1=90, s4=91), "2026-03-01T09:00:00", name="b.csv")
    take(export(plain, s1=92, s2=93, s4=91), "2026-03-01T10:00:00", name="c.csv")
    found = may_be_live(learning, "hazel")
    # set/4 may be written: that somebody set it is likelier.
    assert [(one.code, one.differs, one.visits) for one in found] == [
        ("set/1", 2, 2),
        ("set/2", 1, 2),
    ]
    assert found[0].example == "8, then 90 on m1/lift"


def test_between_visits_nothing_is_learnt(
    learning: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    take(export_text(), "2026-03-01T08:00:00", name="a.csv")
    take(export(export_text(), s1=90), "2026-03-02T08:00:00", name="b.csv")
    assert may_be_live(learning, "hazel") == ()


def test_what_is_confirmed_is_live_from_then_on_and_the_rest_of_the_file_stays(
    learning: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    take(export_text(), "2026-03-01T08:00:00", name="a.csv")
    take(export(export_text(), s1=90), "2026-03-01T09:00:00", name="b.csv")
    before = learning.family_file("hazel").content.decode()
    confirm_live(learning, "hazel", ["set/1"], BY)
    after = learning.family_file("hazel")
    assert after.family.parameters["set/1"].volatile
    assert after.content.decode().replace("INTEGER16, volatile: true", "INTEGER16") == before
    assert may_be_live(learning, "hazel") == ()


def test_what_is_not_proposed_is_not_confirmed(learning: Vault) -> None:
    with pytest.raises(WrongUsage, match="set/9 is not proposed"):
        confirm_live(learning, "hazel", ["set/9"], BY)


def test_the_command_proposes_and_confirms(
    learning: Vault, take: Take, export_text: Callable[..., str], cli: Callable[..., Outcome]
) -> None:
    take(export_text(), "2026-03-01T08:00:00", name="a.csv")
    take(export(export_text(), s1=90), "2026-03-01T09:00:00", name="b.csv")
    told = cli("family", "learn", "hazel").stdout
    assert "set/1 Setting 1: differs in 1 of 1 visits" in told
    assert "--confirm CODE" in told
    assert "set/1" in cli("family", "learn", "hazel", "--confirm", "set/1").stdout
    assert "No read-only parameter" in cli("family", "learn", "hazel").stdout
