"""The glossaries are whole and contradict neither themselves nor the roles."""

from __future__ import annotations

from collections import defaultdict

import pytest

from tests.conftest import ROOT
from vault.jobs.families.glossary import glossaries
from vault.jobs.families.lexicon import Lexicon, lexicon, words_of
from vault.jobs.families.phrases import OPPOSITES, phrase_index
from vault.model import roles
from vault.model.errors import Unreadable
from vault.model.glossary import Glossary
from vault.model.names import SIDES, Side
from vault.model.quantities import unit_named
from vault.model.role_units import UNITS_OF
from vault.store.files.edited_files import read_glossary

FOLDER = ROOT / "vault/jobs/families/glossary"
LITTLE = """\
schema: axisvault/glossary/1
language: xx
title: Invented
words: {velocity: [zoom]}
roles: {jog_velocity: [zoom by hand]}
"""
PHRASES = [phrase for side in SIDES for phrase in phrase_index(side).phrases]


def is_controllers(role: str) -> bool:
    """Whether a role is of the controller's side: on the two sides the same words stand."""
    found = roles.find(role)
    return found is not None and found.group == roles.CONTROLLER


def usual_kind(role: str) -> str | None:
    """Kind of the unit that a role usually is in."""
    found = roles.find(role)
    usual = UNITS_OF.get(found.kind) if found else None
    return unit_named(usual[1][0]).kind if usual else None


def test_every_file_is_read_and_named_after_its_language() -> None:
    assert {f"{glossary.language}.yaml" for glossary in glossaries()} == {
        path.name for path in FOLDER.iterdir()
    }
    assert {glossary.language for glossary in glossaries()} >= {"en", "de"}


@pytest.mark.parametrize("glossary", glossaries(), ids=lambda glossary: glossary.language)
def test_every_role_that_an_export_may_hold_has_a_name(glossary: Glossary) -> None:
    settings = {r.name for r in roles.all_roles() if not r.volatile and r.group != "identity"}
    assert settings - glossary.roles.keys() == set()


@pytest.mark.parametrize("glossary", glossaries(), ids=lambda glossary: glossary.language)
def test_no_name_leads_to_two_roles(glossary: Glossary) -> None:
    """However it is written: where its words mean the same, the usual units tell them apart."""
    by_text: dict[tuple[str, bool], set[str]] = defaultdict(set)
    for role, phrases in glossary.roles.items():
        for phrase in phrases:
            by_text[" ".join(words_of(phrase)), is_controllers(role)].add(role)
    assert {text: of for text, of in by_text.items() if len(of) > 1} == {}


def test_names_of_the_same_meaning_are_told_apart_by_their_units() -> None:
    by_meaning: dict[object, set[str]] = defaultdict(set)
    for phrase in PHRASES:
        side = is_controllers(phrase.role)
        by_meaning[phrase.means, phrase.number, side].add(phrase.role)
    shared = [sorted(of) for of in by_meaning.values() if len(of) > 1]
    assert [of for of in shared if len({usual_kind(role) for role in of}) < len(of)] == []


def test_every_word_of_every_name_has_a_meaning() -> None:
    read = {phrase.text: lexicon().read(phrase.text) for phrase in PHRASES}
    unknown = {text for text, found in read.items() if not all(p.means for p in found.parts)}
    assert unknown == set()
    assert all(found.parts for found in read.values())


def test_every_meaning_is_that_of_a_name_or_tells_names_apart() -> None:
    used = frozenset().union(*(phrase.means for phrase in PHRASES))
    meanings = {one for g in glossaries() for words in g.words for one in words.split()}
    assert meanings - used == {"other"}
    assert {one for pair in OPPOSITES for side in pair for one in side} - meanings == set()


@pytest.mark.parametrize("side", SIDES)
def test_the_names_of_one_side_lead_to_roles_of_that_side_alone(side: Side) -> None:
    of_side = {phrase.role for phrase in phrase_index(side).phrases}
    assert len(of_side) > 30
    assert {is_controllers(role) for role in of_side} == {side == "controller"}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Rücklauframpe", "Ruecklauframpe"),
        ("Größe", "Groesse"),
        ("MaxTorque", "max torque"),
        ("feedforward", "Feed-Forward"),
        ("SW limit +", "SW limit plus"),
        ("SW limit (-)", "SW limit minus"),
    ],
)
def test_spellings_of_one_name_mean_the_same(one: str, other: str) -> None:
    assert lexicon().read(one).meanings() == lexicon().read(other).meanings() != frozenset()


@pytest.mark.parametrize(
    ("name", "means"),
    [
        ("Schleppfehlerfenster", [{"following_error"}, {"window"}]),
        ("Beschleunigungsvorsteuerung", [{"acceleration"}, {"feed_forward"}]),
        ("accelertion", [{"acceleration"}]),
        ("Funktion DI 3", [{"function"}, {"digital"}, {"input"}]),
        ("Value of the setting", []),
        ("wibble", [set()]),
    ],
)
def test_a_name_is_cut_into_its_words(name: str, means: list[set[str]]) -> None:
    assert [part.means for part in lexicon().read(name).parts] == means


def test_a_word_that_may_be_two_things_is_either() -> None:
    (part,) = lexicon().read("pos").parts
    assert part.means == {"position", "positive"}


def test_another_language_is_another_file() -> None:
    glossary = read_glossary(LITTLE.encode(), "xx.yaml")
    assert Lexicon([*glossaries(), glossary]).read("zoom").meanings() == {"velocity"}


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        ("jog_velocity", "jog_velocty", "line 5: .*unknown role.*did you mean jog_velocity"),
        ("[zoom by hand]", "[zoom  by hand]", "line 5: roles.jog_velocity.*single spaces"),
        ("[zoom]", "[zoom, zoom]", "line 4: words.velocity.*stands here twice"),
        ("words:", "wrds:", "line 4: wrds: no such key; did you mean words"),
        ("language: xx", "language: Klingon", "line 2: language"),
        ("[zoom by hand]", "[]", "line 5: roles.jog_velocity"),
    ],
)
def test_what_is_wrong_with_a_glossary_is_told_with_its_line(
    was: str, becomes: str, said: str
) -> None:
    with pytest.raises(Unreadable, match=said):
        read_glossary(LITTLE.replace(was, becomes).encode(), "xx.yaml")
