"""From an export to a dictionary on the pages: what is shown, said, stored, refused and left."""

from __future__ import annotations

import html
import re
import subprocess
import zipfile
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from tests.description_texts import CIP
from tests.webui.hostile import FORM, HOSTILE, came_through, multipart, settle, uploads
from tests.webui.test_hostile_files import EVIL_NAMES, HUGE
from tests.webui.visiting import PEOPLE, Visit
from tests.webui.workbooks import unknown_workbook
from vault.jobs.families.hazard_roles import needs_confirmation
from vault.model.roles import all_roles
from vault.store.clock import now
from vault.store.files.yaml_text import load
from vault.store.vault import Vault

TABLE = (
    "Drive: ZK 40\nCode;Name;Value;Unit\nz1;Following error window;2,5;mm\n"
    "z2;Maximum profile velocity;1.234;mm/s\nz3;Quick stop deceleration;8000;mm/s^2\n"
)


@pytest.fixture
def approver(app: Flask) -> Visit:
    return visit(app, "approver")


def visit(app: Flask, name: str) -> Visit:
    made = Visit(app)
    made.log_in(name)
    return made


def sent(*files: tuple[str, bytes]) -> list[tuple[BytesIO, str]]:
    return [(BytesIO(content), name) for name, content in files]


def drafted(who: Visit, content: bytes = TABLE.encode(), name: str = "drive.csv") -> str:
    """The address of a draft of one export that was sent."""
    answer = who.send("/draft", export=sent((name, content)))
    assert answer.status_code == 303, answer.text
    return answer.headers["Location"]


def fields_of(page: str) -> dict[str, Any]:
    """The form of a draft as a browser would send it back, nothing changed."""
    found: dict[str, Any] = {}
    for name, value in re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', page):
        if name not in ("csrf_token", "offered"):
            found[name] = html.unescape(value)
    for name, inner in re.findall(r'<select name="([^"]+)"[^>]*>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', inner)
        found[name] = html.unescape(chosen[1]) if chosen else ""
    for name, value, checked in re.findall(
        r'<input type="radio" name="([^"]+)" value="([^"]*)"( checked)?>', page
    ):
        if checked:
            found[name] = html.unescape(value)
    offered = re.findall(r'name="offered" value="([^"]+)"', page)
    ticked = re.findall(r'name="use" value="([^"]+)" checked', page)
    return {**found, "offered": offered, "use": ticked}


def key_of(page: str, key: str) -> str:
    """The number of the question about a key."""
    found = re.search(rf'name="key-(\d+)" value="{re.escape(key)}"', page)
    assert found is not None, key
    return found[1]


def dictionary(folder: Path, name: str) -> dict[str, Any]:
    with Vault.open(folder) as vault:
        content: dict[str, Any] = load(vault.family_file(name).content, name)
    return content


def families(folder: Path) -> list[str]:
    with Vault.open(folder) as vault:
        return vault.family_names()


def test_a_draft_shows_the_rows_the_guesses_and_what_waits(approver: Visit, folder: Path) -> None:
    page = approver.get(drafted(approver)).text
    assert "3 parameters of 1 export are read" in page
    assert '<th scope="col" class="chosen">Code</th>' in page
    assert "Maximum profile velocity</td>" in page
    assert '<span class="code">following_error_window</span>, ' in page
    assert "comma: 1,5 (as guessed)" in page  # 1.234 may be either, 2,5 may not
    assert page.index("Is it this?") < page.index("All 3 parameters")
    assert families(folder) == ["hazel"]


def test_what_is_proposed_stands_in_plain_text_with_how_sure_why_and_what_depends_on_it(
    approver: Visit,
) -> None:
    page = html.unescape(approver.get(drafted(approver)).text)
    asked = page[page.index('<span class="code">z3</span>') :].partition("</article>")[0]
    words = " ".join(re.sub(r"<[^>]+>", "", asked).split())
    assert words.startswith("z3 Quick stop deceleration: 8000 mm/s^2 Proposed: Quick stop decelera")
    assert "quick_stop_deceleration, very likely (0.97): 'Quick stop deceleration' has" in words
    told = re.search(r"A change of it counts as \S \w+, and can be a hazard\.", words)
    assert told is not None, words
    assert told.end() < words.index("Is it this?")


def test_a_dozen_parameters_are_asked_about_at_once_and_the_others_are_folded(
    approver: Visit,
) -> None:
    titles = [one.title for one in all_roles() if needs_confirmation(one.name)][:40]
    rows = "".join(f"z{n};{title};{n},5;\n" for n, title in enumerate(titles))
    content = f"Drive: ZK 40\nCode;Name;Value;Unit\n{rows}".encode()
    page = approver.get(drafted(approver, content)).text
    before, folded = page[: page.index("All 40 parameters")].split("on which less depends")
    assert before.count("Is it this?") == 12
    assert folded.count("Is it this?") > 0


def test_words_beyond_ascii_are_shown_as_they_are_read(approver: Visit) -> None:
    content = TABLE.replace("Quick stop", "Größe").encode("windows-1252")
    place = drafted(approver, content)
    page = approver.get(place).text
    assert "(as guessed)</option>" in page
    assert '<span class="code">Größe</span>' in page
    number = key_of(page, "encoding")
    approver.send(place, **{**fields_of(page), f"say-{number}": "=cp437"})
    assert '<span class="code">Gr÷▀e</span>' in approver.get(place).text


def test_an_answer_drafts_anew_and_can_be_taken_back(approver: Visit, folder: Path) -> None:
    place = drafted(approver)
    page = approver.get(place).text
    number = key_of(page, "decimal")
    assert '<span class="code">z2</span> Maximum profile velocity: 1.234' in page
    for said in ("=.", "=,", ""):
        form = {**fields_of(page), f"say-{number}": said, "do": "look"}
        assert approver.send(place, **form).status_code == 303
        page = approver.get(place).text
        assert fields_of(page)[f"say-{number}"] == said
    name = key_of(page, "columns.name")
    approver.send(place, **{**fields_of(page), f"say-{name}": "="})
    page = approver.get(place).text
    assert '<option value="=" selected>none</option>' in page
    approver.send(place, do="anew")
    assert "as you said" not in approver.get(place).text
    assert families(folder) == ["hazel"]


def test_an_answer_by_which_nothing_reads_can_be_put_right(approver: Visit) -> None:
    place = drafted(approver)
    page = approver.get(place).text
    number = key_of(page, "delimiter")
    approver.send(place, **{**fields_of(page), f"say-{number}": "=|"})
    page = approver.get(place).text
    assert "Nothing is read so" in page
    assert re.search(r'<button name="do" value="store" disabled', page)
    number = key_of(page, "delimiter")
    approver.send(place, **{**fields_of(page), f"say-{number}": ""})
    assert "3 parameters of 1 export are read" in approver.get(place).text


def test_a_table_whose_headings_say_nothing_is_read_once_a_person_says_what_they_are(
    approver: Visit, folder: Path
) -> None:
    content = b"Zzz;Xxx;Yyy\nq1;Following error window;1\nq2;Profile velocity;2\nq3;Foo;4\n"
    place = drafted(approver, content)
    page = approver.get(place).text
    assert "Nothing tells which column is what" in page
    assert "say under Columns which are the codes and the values" in page
    assert "<td>Profile velocity</td>" in page
    form = fields_of(page)
    for name, heading in (("code", "Zzz"), ("value", "Yyy"), ("name", "Xxx")):
        form[f"say-{key_of(page, f'columns.{name}')}"] = f"={heading}"
    approver.send(place, **form)
    page = approver.get(place).text
    assert "3 parameters of 1 export are read" in page
    approver.send(place, **{**fields_of(page), "name": "oak", "do": "store"})
    found = dictionary(folder, "oak")["parameters"]
    assert found["q1"] == {
        "name": "Following error window", "suggest": "following_error_window", "type": "DECIMAL",
    }  # fmt: skip


def test_records_of_xml_offer_the_places_where_they_may_stand(approver: Visit) -> None:
    content = (
        b'<?xml version="1.0"?><drive><list>'
        b'<par id="z1" name="Following error window" value="2.5" unit="mm"/>'
        b'<par id="z2" name="Profile velocity" value="100" unit="mm/s"/>'
        b'<par id="z3" name="Quick stop deceleration" value="8" unit="m/s^2"/></list></drive>'
    )
    page = approver.get(drafted(approver, content, "a.xml")).text
    assert "3 parameters of 1 export are read" in page
    assert "drive/list/par" in page
    assert 'name="key-0" value="record"' in page


def test_an_export_in_an_archive_is_drafted_from(approver: Visit, folder: Path) -> None:
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("inside/drive.csv", TABLE)
    place = drafted(approver, packed.getvalue(), "a.zip")
    page = approver.get(place).text
    assert "3 parameters of 1 export are read" in page
    approver.send(place, **{**fields_of(page), "name": "oak", "do": "store"})
    assert "z2" in dictionary(folder, "oak")["parameters"]


def test_a_label_of_the_nameplate_can_stand_for_something_else(
    approver: Visit, folder: Path
) -> None:
    place = drafted(approver, unknown_workbook(), "hub.xlsx")
    page = approver.get(place).text
    for label, field in (("Seriennummer", "motor_serial"), ("Datum", "")):
        number = key_of(page, f"nameplate.{label}")
        approver.send(place, **{**fields_of(page), f"say-{number}": f"={field}"})
        page = approver.get(place).text
    approver.send(place, **{**fields_of(page), "name": "oak", "do": "store"})
    assert dictionary(folder, "oak")["export"]["nameplate"] == {
        "Antrieb": "drive", "Seriennummer": "motor_serial",
    }  # fmt: skip


def test_a_label_that_nobody_knows_is_seen_and_can_be_made_a_field_of_the_nameplate(
    approver: Visit, folder: Path
) -> None:
    content = f"Drive: ZK 40\nBuilt as: 77-A\n{TABLE.partition(chr(10))[2]}".encode()
    place = drafted(approver, content)
    page = approver.get(place).text
    assert 'Built as <span class="code">77-A</span>' in page
    number = key_of(page, "nameplate.Built as")
    approver.send(place, **{**fields_of(page), f"say-{number}": "=serial"})
    page = approver.get(place).text
    assert 'Built as <span class="code">77-A</span>' in page
    approver.send(place, **{**fields_of(page), "name": "oak", "do": "store"})
    assert dictionary(folder, "oak")["export"]["nameplate"] == {
        "Drive": "drive", "Built as": "serial",
    }  # fmt: skip


def test_labels_are_seen_where_none_of_them_is_known(approver: Visit, folder: Path) -> None:
    content = f"Built as: 77-A\n{TABLE.partition(chr(10))[2]}".encode()
    place = drafted(approver, content)
    page = approver.get(place).text
    number = key_of(page, "nameplate.Built as")
    approver.send(place, **{**fields_of(page), f"say-{number}": "=serial"})
    page = approver.get(place).text
    approver.send(place, **{**fields_of(page), "name": "oak", "do": "store"})
    assert dictionary(folder, "oak")["export"]["nameplate"] == {"Built as": "serial"}


def test_by_what_exports_are_known_is_shown_with_what_it_fits_and_can_be_changed(
    approver: Visit, folder: Path
) -> None:
    place = drafted(approver)
    page = html.unescape(approver.get(place).text)
    assert 'name="pattern-drive" value="^ZK 40([^0-9A-Za-z]|$)"' in page
    assert '<li>drive.csv: fits, <span class="code">ZK 40</span></li>' in page
    assert "No other family of the vault fits it." in page
    form = {**fields_of(page), "pattern-drive": "^ZK [0-9]+$"}
    assert approver.send(place, **{**form, "do": "store"}).headers["Location"] == place
    assert families(folder) == ["hazel"]  # shown first
    form = {**fields_of(approver.get(place).text), "new_place": "text", "new_pattern": "^Drive:"}
    approver.send(place, **form)
    page = html.unescape(approver.get(place).text)
    assert '<li>drive.csv: fits, <span class="code">Drive: ZK 40</span></li>' in page
    form = fields_of(page) | {"pattern_place": ["drive", "text"], "name": "oak", "do": "store"}
    approver.send(place, **form)
    assert dictionary(folder, "oak")["export"]["recognise"] == {
        "drive": "^ZK [0-9]+$", "text": "^Drive:",
    }  # fmt: skip


def test_a_pattern_that_does_not_fit_says_so_and_an_emptied_one_is_none(
    approver: Visit, folder: Path
) -> None:
    place = drafted(approver)
    form = {**fields_of(approver.get(place).text), "pattern-drive": "^QX"}
    approver.send(place, **form)
    page = html.unescape(approver.get(place).text)
    assert 'drive.csv: <b>⚠ does not fit</b>, <span class="code">ZK 40</span>' in page
    approver.send(place, **{**fields_of(page), "pattern-drive": ""})
    page = approver.get(place).text
    assert "no pattern tells it from others" in page
    approver.send(place, **{**fields_of(page), "name": "oak", "do": "store"})
    assert "recognise" not in dictionary(folder, "oak")["export"]


def test_another_family_of_the_vault_that_an_export_fits_is_told(
    approver: Visit, folder: Path
) -> None:
    place = drafted(approver)
    form = {**fields_of(approver.get(place).text), "name": "oak", "do": "store"}
    approver.send(place, **form)
    page = approver.get(drafted(approver)).text
    assert "drive.csv fits oak of the vault too." in page


@pytest.mark.parametrize(
    ("place", "pattern", "words"),
    [
        ("drive", "(?=x)", "cannot be matched in linear time"),
        ("drive", "(", "cannot be matched in linear time"),
        ("drive", "x" * 301, "at most 300 characters"),
        ("sorts", "x", "nothing of an export is called 'sorts'"),
    ],
)
def test_a_pattern_that_no_dictionary_may_have_is_refused_and_not_kept(
    place: str, pattern: str, words: str, approver: Visit
) -> None:
    at = drafted(approver)
    form = {**fields_of(approver.get(at).text), "new_place": place, "new_pattern": pattern}
    answer = approver.send(at, **form)
    assert answer.status_code == 400
    assert words in html.unescape(answer.text)
    assert 'value="^ZK 40' in approver.get(at).text


def test_all_guessed_anew_takes_patterns_back_too(approver: Visit) -> None:
    place = drafted(approver)
    form = {**fields_of(approver.get(place).text), "pattern-drive": "^QX"}
    approver.send(place, **form)
    approver.send(place, do="anew")
    assert 'value="^ZK 40' in approver.get(place).text


def test_a_thousand_parameters_are_asked_about_a_page_at_a_time(approver: Visit) -> None:
    names = ("Following error window", "Profile velocity", "Quick stop deceleration", "Home offset")
    rows = "".join(
        f"z{n};{names[n % 4]} {n};{n},5;{'mm' if n % 4 in (0, 3) else 'mm/s'}\n"
        for n in range(1000)
    )
    content = f"Drive: ZK 40\nCode;Name;Value;Unit\n{rows}".encode()
    page = approver.get(drafted(approver, content)).text
    assert "1,000 parameters of 1 export are read" in page
    assert page.count("Is it this?") <= 60
    assert "All 1,000 parameters" in page


def test_what_was_changed_is_shown_before_it_is_stored(approver: Visit, folder: Path) -> None:
    place = drafted(approver)
    page = approver.get(place).text
    form = {**fields_of(page), f"say-{key_of(page, 'columns.unit')}": "=", "do": "store"}
    assert approver.send(place, **form).headers["Location"] == place
    assert "What you changed is shown first" in approver.get(place).text
    assert families(folder) == ["hazel"]


def test_a_stored_draft_is_a_commit_of_the_person_with_the_roles_that_were_said(
    approver: Visit, folder: Path
) -> None:
    place = drafted(approver)
    form = fields_of(approver.get(place).text)
    codes = {form[f"code-{n}"]: n for n in range(3)}
    form[f"role-{codes['z1']}"] = "=following_error_window"
    form[f"role-{codes['z2']}"] = "none"
    form[f"other-{codes['z3']}"] = "profile_deceleration"
    answer = approver.send(place, **{**form, "name": "oak", "title": "Oak drives", "do": "store"})
    assert answer.headers["Location"].startswith("/take-in/")
    made = dictionary(folder, "oak")
    assert made["title"] == "Oak drives"
    found = made["parameters"]
    assert {code: found[code].get("role") for code in found} == {
        "z1": "following_error_window", "z2": None, "z3": "profile_deceleration",
    }  # fmt: skip
    assert not any("suggest" in parameter for parameter in found.values())
    told = subprocess.run(
        ["git", "-C", folder, "log", "-1", "--format=%an <%ae>", "--", "families/oak.yaml"],
        check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    assert told.strip() == PEOPLE["approver"]
    with Vault.open(folder) as vault:
        text = vault.family_file("oak").content.decode()
    assert f"role confirmed by Abena Lorn, {now().date()}" in text
    assert f"no role, says Abena Lorn, {now().date()}" in text


def test_without_a_word_no_role_is_given_whose_change_can_be_a_hazard(
    approver: Visit, folder: Path
) -> None:
    place = drafted(approver)
    approver.send(place, **{**fields_of(approver.get(place).text), "name": "oak", "do": "store"})
    found = dictionary(folder, "oak")["parameters"]
    assert [one.get("role") for one in found.values()] == [None] * 3
    assert found["z1"]["suggest"] == "following_error_window"


def test_an_unknown_upload_leads_to_a_draft_and_comes_back_to_be_stored(
    app: Flask, approver: Visit, folder: Path
) -> None:
    files = sent(
        ("a.xlsx", unknown_workbook(2)), ("b.xlsx", unknown_workbook(4, "20.11.2026 9:00"))
    )
    answer = approver.send("/take-in", axis="m2/hub", export=files)
    waiting = answer.headers["Location"]
    page = approver.get(waiting).text
    assert page.count("Draft a dictionary from it") == 2
    assert "family add FILE" not in page
    answer = approver.send(waiting, **{"axis-0": "m2/hub", "axis-1": "m2/hub", "do": "draft-1"})
    place = answer.headers["Location"]
    page = approver.get(place).text
    assert 'name="name" autocomplete="off" value="qx-7"' in page
    assert "7 parameters of 2 exports are read" in page
    answer = approver.send(place, **{**fields_of(page), "do": "store"})
    assert answer.headers["Location"] == waiting
    page = approver.get(waiting).text
    assert page.count("<option selected>qx-7</option>") == 2
    assert page.count('value="m2/hub"') >= 2
    form = {f"{name}-{n}": value for n in (0, 1) for name, value in
            (("axis", "m2/hub"), ("family", "qx-7"))}  # fmt: skip
    told = approver.get(settle(app, approver.send(waiting, **form, do="store"))).text
    assert "1 parameter changed" in told
    assert '<a href="/axis/m2/hub">' in told
    assert uploads(folder) == []


def test_from_the_families_page_one_goes_on_to_take_the_same_exports_in(
    approver: Visit, folder: Path
) -> None:
    assert 'href="/draft"' in approver.get("/families").text
    place = drafted(approver, unknown_workbook(), "hub.xlsx")
    answer = approver.send(place, **{**fields_of(approver.get(place).text), "do": "store"})
    page = approver.get(answer.headers["Location"]).text
    assert "Family qx-7 is in the vault" in page
    assert "hub.xlsx" in page
    assert approver.get(place).status_code == 404  # the draft is over
    approver.send(answer.headers["Location"], do="forget")
    assert uploads(folder) == []


def test_what_does_not_read_as_the_first_does_is_left_out_of_the_draft(approver: Visit) -> None:
    files = sent(("photo.csv", b"a photo, not an export\n"), ("a.csv", TABLE.encode()))
    waiting = approver.send("/take-in", axis="m2/hub", export=files).headers["Location"]
    answer = approver.send(waiting, do="draft-1")
    page = approver.get(answer.headers["Location"]).text
    assert "3 parameters of 1 export are read" in page
    assert len(fields_of(page)["use"]) == 1


def test_a_known_export_and_what_holds_no_values_lead_to_no_draft(
    approver: Visit, export_text: Any
) -> None:
    description = b'<?xml version="1.0"?><ISO15745ProfileContainer/>'
    files = sent(
        ("a.csv", export_text("3").encode()), ("d.xdd", description), ("p.pdf", b"%PDF-1.7 x")
    )
    waiting = approver.send("/take-in", axis="m1/lift", export=files).headers["Location"]
    assert "Draft a dictionary" not in approver.get(waiting).text
    assert approver.send(waiting, do="draft-0").status_code == 400
    assert approver.send(waiting, do="draft-7").status_code == 400


def test_a_technician_drafts_and_downloads_and_an_approver_stores(app: Flask, folder: Path) -> None:
    technician = visit(app, "technician")
    place = drafted(technician)
    page = technician.get(place).text
    assert "Put into the vault" not in page
    assert "takes the role approver; you are a technician" in page
    assert technician.send(place, **{**fields_of(page), "do": "store"}).status_code == 403
    assert families(folder) == ["hazel"]
    answer = technician.get(f"{place}/file")
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert load(answer.data, "x")["parameters"]["z1"]["suggest"] == "following_error_window"


def test_a_draft_is_nobody_elses(app: Flask, approver: Visit) -> None:
    place = drafted(approver)
    other = visit(app, "admin")
    for address in (place, f"{place}/file"):
        assert other.get(address).status_code == 404
    assert other.send(place, form="/draft", do="store").status_code == 400
    assert Visit(app).get(place).status_code in (303, 404)


def test_a_description_adds_to_the_draft_and_is_gone_afterwards(
    approver: Visit, folder: Path
) -> None:
    answer = approver.send(
        "/draft", export=sent(("a.csv", TABLE.encode())), description=sent(("d.eds", CIP.encode()))
    )
    place = answer.headers["Location"]
    page = approver.get(place).text
    assert "d.eds describes the device" in page
    answer = approver.send(place, **{**fields_of(page), "do": "store"})
    assert "d.eds" not in approver.get(answer.headers["Location"]).text
    assert [path.name for path in uploads(folder) if path.suffix == ".eds"] == []


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("name", "hazel", "has a family hazel already"),
        ("name", "No Name!", "is no name for a family"),
        ("more_role", "no_such_role", "there is no role"),
        ("other-0", "no_such_role", "there is no role"),
        ("key-0", "recognise.text", "nothing is called"),
        ("use", "", "at least one export"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_stored(
    field: str, value: str, words: str, approver: Visit, folder: Path
) -> None:
    place = drafted(approver)
    form = {**fields_of(approver.get(place).text), "more_code": "z1", "say-0": "=x"}
    form.pop("key-0")
    answer = approver.send(place, **{**form, field: value, "do": "store"})
    text = approver.get(place).text if answer.status_code == 303 else answer.text
    assert words in html.unescape(text)
    assert families(folder) == ["hazel"]


def test_a_role_of_two_parameters_is_told_and_holds_storing_up(approver: Visit) -> None:
    place = drafted(approver)
    form = fields_of(approver.get(place).text)
    for number in (0, 1):
        form[f"other-{number}"] = "profile_acceleration"
    approver.send(place, **form)
    page = approver.get(place).text
    assert "It cannot be stored so" in page
    assert re.search(r'<button name="do" value="store" disabled', page)


def test_nothing_and_no_export_are_refused_and_leave_nothing(approver: Visit, folder: Path) -> None:
    assert approver.send("/draft").status_code == 400
    for content in (b"", b"a photo\n", b"%PDF-1.7 x", b"PK\x03\x04broken", b"\x00" * 1000):
        answer = approver.send("/draft", export=sent(("a.csv", content)))
        assert answer.status_code in (400, 422), content
        assert "That did not work" in answer.text
    description = approver.send("/draft", export=sent(("d.eds", CIP.encode())))
    assert "send it under &#39;Device descriptions&#39;" in description.text
    many = sent(*[(f"{n}.csv", TABLE.encode()) for n in range(21)])
    assert "up to 20 exports" in approver.send("/draft", export=many).text
    assert uploads(folder) == []


@pytest.mark.parametrize("what", HUGE)
def test_an_export_that_blows_up_is_refused_or_shown_short(
    what: str, approver: Visit, folder: Path
) -> None:
    content = HUGE[what]("Drive;HZ-04;;\r\nCode;Name;Value;Unit\r\n").encode()
    answer = approver.send("/draft", export=sent(("big.csv", content)))
    if answer.status_code == 303:
        assert len(approver.get(answer.headers["Location"]).data) < 500_000
        approver.send(answer.headers["Location"], form="/draft", do="forget")
    else:
        assert answer.status_code == 422
    assert uploads(folder) == []


def test_no_name_of_a_file_leads_anywhere_else(approver: Visit, folder: Path) -> None:
    files = [(name, TABLE.encode()) for name in EVIL_NAMES]
    body = multipart(files, {"csrf_token": approver.csrf("/draft")})
    answer = approver.client.post("/draft", data=body, content_type=FORM)
    assert answer.status_code == 303
    place = answer.headers["Location"]
    page = approver.get(place)
    assert came_through(page.text) == []
    kept = folder / "axisvault/uploads" / place.rpartition("/")[2]
    assert len(list(kept.glob("*/*"))) == len(files)
    assert not {path for path in folder.parent.rglob("x.csv") if kept not in path.parents}
    answer = approver.send(place, **{**fields_of(page.text), "name": "oak", "do": "store"})
    assert answer.headers["Location"].startswith("/take-in/")
    assert dictionary(folder, "oak")["parameters"]["z1"]["name"] == "Following error window"


def test_markup_in_an_export_stays_text_on_every_page(
    app: Flask, approver: Visit, folder: Path
) -> None:
    text = "".join(c for c in HOSTILE if c not in '";\x00\u2028')
    content = (
        f"Drive;{text};;\nSerial;{text};;\nCode;{text};Value;Unit\n"
        + "".join(f"z{n};{text} {n};{text};{text}\n" for n in range(5))
        + "z8;Following error window;2,5;mm\nz9;Profile velocity;4;mm/s\n"
    ).encode()
    place = drafted(approver, content)
    page = approver.get(place).text
    assert came_through(page) == []
    form = {**fields_of(page), "name": "oak", "title": HOSTILE, "more_code": HOSTILE}
    approver.send(place, **form)
    assert came_through(approver.get(place).text) == []
    answer = approver.send(place, **{**form, "more_code": "", "do": "store"})
    assert answer.headers["Location"].startswith("/take-in/"), answer.text
    assert came_through(approver.get("/families/oak").text) == []
    settled = approver.send("/families/oak", code="z8", role="following_error_window")
    assert settled.status_code == 303
    assert dictionary(folder, "oak")["parameters"]["z8"]["role"] == "following_error_window"
    assert came_through(approver.get("/families/oak?code=z8").text) == []


def test_a_settled_role_is_kept_while_the_draft_is_looked_at_again(approver: Visit) -> None:
    place = drafted(approver)
    form = fields_of(approver.get(place).text)
    number = next(n for n in range(3) if form[f"code-{n}"] == "z1")
    approver.send(place, **{**form, f"role-{number}": "=following_error_window"})
    page = approver.get(place).text
    assert "1 role was said by a person" in page
    assert "Said by a person: <b>Following error window</b>" in page
    again = fields_of(page)
    number = next(n for n in range(3) if again[f"code-{n}"] == "z1")
    assert again[f"role-{number}"] == "=following_error_window"
    approver.send(place, **{**again, f"role-{number}": ""})
    assert fields_of(approver.get(place).text)[f"role-{number}"] == ""


def test_back_from_a_draft_the_exports_still_wait(approver: Visit, folder: Path) -> None:
    files = sent(("a.csv", TABLE.encode()))
    waiting = approver.send("/take-in", axis="m2/hub", export=files).headers["Location"]
    place = approver.send(waiting, **{"axis-0": "m2/hub", "do": "draft-0"}).headers["Location"]
    assert approver.send(place, do="forget").headers["Location"] == waiting
    page = approver.get(waiting).text
    assert "Draft a dictionary from it" in page
    approver.send(waiting, do="forget")
    assert uploads(folder) == []


@pytest.fixture
def settled(approver: Visit, folder: Path) -> Iterator[Visit]:
    """Who has stored a draft whose roles all wait."""
    place = drafted(approver)
    approver.send(place, **{**fields_of(approver.get(place).text), "name": "oak", "do": "store"})
    yield approver


def test_the_page_of_a_dictionary_settles_roles_and_keeps_its_comments(
    settled: Visit, folder: Path
) -> None:
    page = settled.get("/families/oak").text
    assert "Roles that wait for a person" in page
    assert "Quick stop deceleration</b>" in page
    assert "very likely (0.97): " in page
    assert "<summary>3 parameters without a role</summary>" in page
    form = fields_of(page)
    number = next(n for n in range(3) if form[f"code-{n}"] == "z1")
    form.pop("offered"), form.pop("use")
    answer = settled.send(
        "/families/oak", **{**form, f"role-{number}": "=following_error_window", "other-2": "none"}
    )
    assert answer.status_code == 400  # `none` is no role
    answer = settled.send("/families/oak", **{**form, f"role-{number}": "=following_error_window"})
    assert answer.status_code == 303
    made = dictionary(folder, "oak")["parameters"]
    assert made["z1"]["role"] == "following_error_window"
    assert "suggest" in made["z2"]
    with Vault.open(folder) as vault:
        text = vault.family_file("oak").content.decode()
    assert text.startswith("# Drafted from drive.csv.")
    assert "role confirmed by Abena Lorn" in text


def test_the_page_of_a_dictionary_shows_what_its_axes_have(app: Flask, settled: Visit) -> None:
    waiting = settled.send(
        "/take-in", axis="m2/hub", export=sent(("a.csv", TABLE.encode()))
    ).headers["Location"]
    form = {"axis-0": "m2/hub", "family-0": "oak", "taken_at-0": "now", "do": "store"}
    settle(app, settled.send(waiting, **form))
    assert '<span class="code">m2/hub: 2.5 mm</span>' in settled.get("/families/oak").text
    page = settled.get("/families/oak?code=z1").text
    assert "has no role now, and is" in page


def test_a_role_is_changed_and_taken_away_by_code(settled: Visit, folder: Path) -> None:
    settled.send("/families/oak", code="z3", role="profile_deceleration")
    assert dictionary(folder, "oak")["parameters"]["z3"]["role"] == "profile_deceleration"
    assert 'value="profile_deceleration"' in settled.get("/families/oak?code=z3").text
    settled.send("/families/oak", code="z3")
    assert "role" not in dictionary(folder, "oak")["parameters"]["z3"]
    for bad in ({"code": "z77"}, {"code": "z1", "role": "no_such"}, {}):
        assert settled.send("/families/oak", **bad).status_code == 400
    assert settled.send("/families/oak", code="z1", role="profile_velocity").status_code == 422


def test_who_may_not_settle_roles_sees_them_and_no_form(app: Flask, settled: Visit) -> None:
    page = visit(app, "technician").get("/families/oak").text
    assert "Settling roles takes the role approver; you are a technician" in page
    assert "<select" not in page
    assert "Change it" not in page


def test_the_first_line_counts_the_roles_that_nobody_has_said_yet(approver: Visit) -> None:
    place = drafted(approver)
    before = re.search(r"(\d+) roles? waits? for a person", approver.get(place).text)
    assert before is not None
    form = fields_of(approver.get(place).text)
    number = next(n for n in range(3) if form[f"code-{n}"] == "z1")
    approver.send(place, **{**form, f"role-{number}": "=following_error_window"})
    after = re.search(r"(\d+) roles? waits? for a person", approver.get(place).text)
    assert after is not None
    assert int(after[1]) == int(before[1]) - 1
