"""`family try`: what a dictionary makes of exports, line by line. All of it is invented."""

from __future__ import annotations

import gzip
from collections.abc import Callable
from pathlib import Path
from zipfile import ZipFile

import pytest

from example_machines import __file__ as example
from tests.conftest import BY, Outcome
from vault.jobs.families.try_dictionary import Tried, TriedExport, try_dictionary
from vault.jobs.records.edit import add_family
from vault.model.errors import Unreadable, WrongUsage
from vault.store.vault import FamilyFile, Vault

Cli = Callable[..., Outcome]
Export = Callable[..., str]
EXAMPLE = Path(example).parent


@pytest.fixture
def hazel(tmp_path: Path, family_text: str) -> Path:
    """A dictionary on disk."""
    path = tmp_path / "hazel.yaml"
    path.write_text(family_text)
    return path


def tried(dictionary: Path, text: str, vault: Vault | None = None) -> TriedExport:
    path = dictionary.with_name("lift.csv")
    path.write_text(text)
    (one,) = try_dictionary(str(dictionary), [path], vault).exports
    return one


def test_all_of_an_export_is_read_and_counted(hazel: Path, export_text: Export) -> None:
    one = tried(hazel, export_text("2,50", serial="S-1"))
    assert one.is_whole
    assert (one.read, one.refused, one.unknown, one.without_role) == (24, (), (), 20)
    assert (one.encoding, dict(one.nameplate)) == ("utf-8", {"drive": "HZ-04", "serial": "S-1"})
    assert (one.is_recognised, one.not_fitting, one.other_families) == (True, (), ())


def test_every_line_that_cannot_be_taken_is_told_with_its_reason(
    hazel: Path, export_text: Export
) -> None:
    rows = "set/1;S;5;\r\nwhat is this\r\n"
    one = tried(hazel, export_text("fast", way="99999") + rows)
    assert not one.is_whole
    assert [line.line for line in one.refused] == [3, 5, 27, 28]
    reasons = [line.reason for line in one.refused]
    assert "'fast' is not a number" in reasons[0]
    assert "lies outside INTEGER8" in reasons[1]
    assert "given already in line 7" in reasons[2]


def test_codes_that_the_dictionary_lacks_are_listed(hazel: Path, export_text: Export) -> None:
    one = tried(hazel, export_text() + "new/1;New;1;V\r\nnew/2;New;2;V\r\n")
    assert (one.unknown, one.is_whole) == (("new/1", "new/2"), True)
    assert one.warnings == ("2 codes are not in dictionary hazel: new/1, new/2",)


def test_an_open_one_lists_them_without_a_warning(hazel: Path, export_text: Export) -> None:
    hazel.write_text(hazel.read_text().replace("export:", "open: true\nexport:", 1))
    one = tried(hazel, export_text() + "new/1;New;1;V\r\n")
    assert (one.unknown, one.warnings, one.without_role) == (("new/1",), (), 21)


def test_an_export_of_mostly_unknown_codes_is_refused_and_still_told(hazel: Path) -> None:
    one = tried(hazel, "Code;Name;Value;Unit\nnew/1;N;1;V\nnew/2;N;2;V\nset/1;S;1;\n")
    assert one.error is not None
    assert "2 of 3 codes are not in family hazel" in one.error.message
    assert (one.read, one.unknown, one.is_whole) == (3, ("new/1", "new/2"), False)


def test_what_is_no_export_at_all_is_told_and_the_next_one_is_tried(
    hazel: Path, export_text: Export
) -> None:
    bad, good = hazel.with_name("bad.csv"), hazel.with_name("good.csv")
    bad.write_text("hello\n")
    good.write_text(export_text())
    missing = hazel.with_name("missing.csv")
    found = try_dictionary(str(hazel), [bad, missing, good], None)
    first, second, third = found.exports
    assert first.error is not None
    assert "no row holds the headings" in first.error.message
    assert second.error is not None
    assert "cannot be read" in second.error.message
    assert third.is_whole
    assert not found.is_whole


def test_a_pattern_that_does_not_fit_is_named(hazel: Path, export_text: Export) -> None:
    one = tried(hazel, export_text().replace("HZ-04", "XX-04"))
    assert (one.is_recognised, one.not_fitting) == (False, ("drive",))


def test_an_export_in_an_archive_is_recognised_by_what_is_inside(
    vault: Vault, hazel: Path, family_text: str, export_text: Export
) -> None:
    mine, text = hazel.with_name("elm.yaml"), export_text().encode()
    mine.write_text(family_text.replace("name: hazel", "name: elm", 1))
    zipped, squeezed = hazel.with_name("lift.zip"), hazel.with_name("lift.csv.gz")
    with ZipFile(zipped, "w") as archive:
        archive.writestr("lift.csv", text)
        archive.writestr("picture.png", bytes(range(256)))
    squeezed.write_bytes(gzip.compress(text, mtime=0))
    for one in try_dictionary(str(mine), [zipped, squeezed], vault).exports:
        assert (one.is_recognised, one.not_fitting, one.encoding) == (True, (), "utf-8")
        assert one.other_families == ("hazel",)


def test_another_family_that_it_looks_like_is_named(
    vault: Vault, hazel: Path, family_text: str, export_text: Export
) -> None:
    mine = hazel.with_name("elm.yaml")
    mine.write_text(family_text.replace("name: hazel", "name: elm", 1))
    assert tried(mine, export_text(), vault).other_families == ("hazel",)
    assert tried(hazel, export_text(), vault).other_families == ()  # the vault's own text of it


def test_another_family_that_cannot_be_read_does_not_keep_from_trying(
    vault: Vault, hazel: Path, export_text: Export
) -> None:
    with vault.writing():
        vault.write_files({"families/oak.yaml": b"name: oak\n"}, "by hand\n", BY)
    path = hazel.with_name("lift.csv")
    path.write_text(export_text())
    found = try_dictionary(str(hazel), [path], vault)
    assert found.is_whole
    assert "oak" in str(found.failures[0])


def test_suggestions_that_wait_are_counted(hazel: Path, export_text: Export) -> None:
    text = hazel.read_text().replace("name: Setting 1,", "name: Setting 1, suggest: jog_velocity,")
    hazel.write_text(text.replace("type: INTEGER16}", "type: INTEGER16, unit: mm/s}", 1))
    one = tried(hazel, export_text())
    assert (one.without_role, one.suggested) == (20, 1)


@pytest.mark.parametrize("lag", ["002,50", "2,5 ", '"2,5"', "2,500000"])
def test_an_export_comes_back_byte_for_byte_however_its_numbers_are_spelled(
    hazel: Path, export_text: Export, lag: str
) -> None:
    one = tried(hazel, export_text(lag))
    assert one.is_whole
    assert one.written_back is not None
    assert one.written_back.is_same


def test_a_file_that_cannot_be_put_back_says_why(hazel: Path, export_text: Export) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("vault.formats.delimited.write_back", lambda *_, **__: b"other")
        other = tried(hazel, export_text()).written_back
    assert other is not None
    assert (other.is_same, other.reason) == (False, "the same values give another file")


def test_a_format_that_puts_no_values_into_an_export_says_so() -> None:
    path = EXAMPLE / "exports/glaze-line-1/lift/2025-11-18-as-left.dcf"
    (one,) = try_dictionary(str(EXAMPLE / "families/alder.yaml"), [path], None).exports
    assert one.is_whole
    assert one.written_back is not None
    assert one.written_back.is_same is None
    assert "it writes a new one" in (one.written_back.reason or "")


def test_of_a_file_of_several_axes_one_is_chosen() -> None:
    folder = EXAMPLE / "exports/kiln-loader/shuttle-and-pusher"
    path, dictionary = sorted(folder.iterdir())[0], str(EXAMPLE / "families/larch.yaml")
    (open_question,) = try_dictionary(dictionary, [path], None).exports
    assert open_question.error is not None
    assert "channel" in str(open_question.error) or "axes" in str(open_question.error)
    (second,) = try_dictionary(dictionary, [path], None, channel=2).exports
    assert (second.channel, second.is_whole) == (2, True)
    assert second.written_back is not None
    assert second.written_back.is_same


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("decimal:", "desimal:", 7, "did you mean decimal?"),
        ("role: profile_velocity", "role: profile_velosity", 13, "did you mean profile_velocity?"),
        ("unit: mm/s", "unit: mm/sec/s/s", 13, "parameters.mov/speed.unit"),
    ],
)
def test_what_is_wrong_with_a_dictionary_is_named_with_file_line_and_key(
    hazel: Path, old: str, new: str, line: int, said: str
) -> None:
    hazel.write_text(hazel.read_text().replace(old, new, 1))
    with pytest.raises(Unreadable) as it:
        try_dictionary(str(hazel), [], None)
    assert (it.value.file, it.value.line) == (str(hazel), line)
    assert said in it.value.message


def test_a_family_of_the_vault_goes_by_its_name(vault: Vault, hazel: Path) -> None:
    def of(name: str, within: Vault | None = vault) -> Tried:
        return try_dictionary(name, [], within)

    assert of("hazel").dictionary.name == "hazel"
    with pytest.raises(WrongUsage, match=r"no file 'hazle', .* did you mean hazel"):
        of("hazle")
    with pytest.raises(WrongUsage, match=r"there is no file 'hazel' "):
        of("hazel", None)


# On the command line.


def test_no_vault_is_needed_where_the_dictionary_is_a_file(
    hazel: Path, export_text: Export, cli: Cli
) -> None:
    hazel.with_name("lift.csv").write_text(export_text())
    done = cli("family", "try", "hazel.yaml", "lift.csv")
    assert (done.code, done.stderr) == (0, "")
    assert "Read as delimited, utf-8: 24 parameters." in done.stdout
    assert "It is recognised as this family's." in done.stdout
    assert "the same, byte for byte" in done.stdout
    assert not hazel.with_name("plant").exists()


def test_it_leaves_with_1_where_a_line_is_refused_and_tells_all_of_them(
    hazel: Path, export_text: Export, cli: Cli
) -> None:
    rows = "".join(f"set/{n};S;{n};\r\n" for n in range(1, 9))
    hazel.with_name("lift.csv").write_text(export_text() + rows)
    done = cli("family", "try", "hazel.yaml", "lift.csv")
    assert done.code == 1
    assert done.stdout.count("is given already in line") == 8
    assert "8 lines refused." in done.stdout
    found = cli("family", "try", "hazel.yaml", "lift.csv", "--json")
    (one,) = found.json["exports"]
    assert (found.code, len(one["refused"]), one["whole"]) == (1, 8, False)


def test_nothing_is_stored(vault: Vault, hazel: Path, export_text: Export, cli: Cli) -> None:
    before = vault.tip
    hazel.with_name("lift.csv").write_text(export_text())
    assert cli("family", "try", "hazel", "lift.csv").code == 0
    vault.refresh()
    assert vault.tip == before
    add_family(vault, hazel, BY)  # what was tried is taken


@pytest.mark.parametrize("export", ["{format: bogus}", "{format: keyed, encoding: [undefined]}"])
def test_a_dictionary_of_the_vault_that_cannot_be_asked_stops_no_trial(
    hazel: Path, export_text: Export, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, export: str
) -> None:
    with Vault.create(tmp_path / "plant", "Plant", BY) as vault:
        bad = FamilyFile("bad", f"{_BAD}{export}\n".encode())
        monkeypatch.setattr(Vault, "family_names", lambda _: ["bad"])
        monkeypatch.setattr(Vault, "family_file", lambda *_: bad)
        path = hazel.with_name("lift.csv")
        path.write_text(export_text())
        found = try_dictionary(str(hazel), [path], vault)
    assert found.exports[0].is_recognised
    assert not any("internal error" in str(failure) for failure in found.failures)


_BAD = """schema: axisvault/family/1
name: bad
title: Bad
parameters: {P1: {name: a}}
export: """
