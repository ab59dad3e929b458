"""The manual: every topic is named, every link leads somewhere, and what it shows is harmless."""

from __future__ import annotations

import html.parser
import re
from functools import cache
from importlib.resources import files

import pytest

from vault.jobs.manual.topic_html import page_address, topic_html
from vault.jobs.manual.topic_text import topic_text
from vault.jobs.manual.topics import CONTENTS, Topic, anchor, search, topic_named, topics
from vault.model.errors import WrongUsage

FOLDER = files("vault") / "manual"
NAMES = sorted(path.name for path in FOLDER.iterdir() if path.is_file())
PICTURES = sorted(f"pictures/{path.name}" for path in (FOLDER / "pictures").iterdir())
MADE_UP = Topic(
    "made-up",
    "Made up",
    "# Made up\n\n<script>alert(1)</script> and `<b>` [x](javascript:alert) "
    "[y](margins.md#hold)\n\n## A heading\n\n| key | meaning |\n|---|---|\n"
    "| `a` | one \\| two |\n\n- first\n- second `x`\n\n"
    "```\n  code <i>\n```\n",
)


class Seen(html.parser.HTMLParser):
    """Tags, ids and links of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        found = dict(attributes)
        self.ids += [found["id"] or ""] if "id" in found else []
        self.links += [found["href"] or ""] if "href" in found else []


@cache
def seen(name: str) -> Seen:
    return Seen(topic_html(topic_named(name)))


def test_the_contents_name_every_topic_that_there_is() -> None:
    assert sorted(f"{name}.md" for name in topics()) == NAMES
    assert next(iter(topics())) == CONTENTS


@pytest.mark.parametrize("name", topics())
def test_every_topic_has_a_title_and_headings_apart(name: str) -> None:
    topic = topic_named(name)
    assert topic.title != name
    ids = seen(name).ids
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("name", topics())
def test_every_link_leads_to_a_topic_and_a_heading_of_it(name: str) -> None:
    for link in seen(name).links:
        place, _, fragment = link.partition("#")
        target = place.removeprefix("/manual/") or name
        assert target in topics(), link
        if fragment:
            assert fragment in seen(target).ids, link


@pytest.mark.parametrize("name", topics())
def test_a_topic_as_text_has_no_line_that_is_wider_but_code_and_long_words(name: str) -> None:
    lines = topic_text(topic_named(name), 80).splitlines()
    wide = [line for line in lines if len(line) > 80 and not line.startswith("    ")]
    assert [line for line in wide if " " in line.strip()] == []


def test_every_picture_is_on_a_topic_within_its_page_and_told_in_its_text() -> None:
    named = re.compile(r"!\[([^]]+)\]\(([^)]+)\)")
    shown = [(name, *one) for name, topic in topics().items() for one in named.findall(topic.text)]
    assert sorted(place for *_, place in shown) == PICTURES
    for name, words, place in shown:
        drawn = (FOLDER / place).read_text(encoding="utf-8")
        assert drawn.strip() in topic_html(topic_named(name))
        told = " ".join(topic_text(topic_named(name), 80).split())
        assert f"[picture: {words}]" in told
        assert "class=" not in drawn, "a reader of the file has no stylesheet"


def test_html_within_a_topic_is_text_on_the_page_and_no_link_runs_anything() -> None:
    shown = topic_html(MADE_UP)
    assert "&lt;script&gt;" in shown
    page = Seen(shown)
    assert not {"script", "b", "i"} & page.tags
    assert page.links == ["/manual/margins#hold"]


def test_a_cell_says_what_its_column_is_where_rows_are_blocks_of_several() -> None:
    assert "<td>one | two</td>" in topic_html(MADE_UP)
    three = Topic("t", "T", "# T\n\n| a | b | c |\n|---|---|---|\n| 1 | 2 | 3 |\n")
    assert '<td>1</td>\n<td data-head="b">2</td>\n<td data-head="c">3</td>' in topic_html(three)


def test_the_text_for_a_terminal_has_no_marks_of_markdown() -> None:
    text = topic_text(MADE_UP, 100)
    assert text.startswith("Made up\n=======\n\n<script>alert(1)</script> and <b> [x]")
    assert "y (margins)" in text
    assert "key  meaning\na    one | two\n" in text
    assert "- first\n- second x\n" in text
    assert "\n      code <i>\n" in text


def test_a_row_that_does_not_fit_is_a_block_of_its_own() -> None:
    wide = Topic("t", "T", f"# T\n\n| a | b |\n|---|---|\n| key | {'word ' * 30}|\n")
    assert "\nkey\n    word word" in topic_text(wide, 40)


@pytest.mark.parametrize(
    ("target", "address"),
    [
        ("trust.md", "/manual/trust"),
        ("json.md#manualdocument", "/manual/json#manualdocument"),
        ("#here", "#here"),
        ("https://works.example/a.md", "https://works.example/a.md"),
    ],
)
def test_links_between_topics_lead_to_pages(target: str, address: str) -> None:
    assert page_address(target) == address


def test_a_search_takes_all_words_in_any_order_and_titles_come_first() -> None:
    found = search("Witness THE")
    assert (found[0].section.topic.name, found[0].section.heading) == ("trust", "The witness")
    assert all("witness" in _all(one.section).casefold() for one in found)
    for_programs = [one.section.topic.name == "json" for one in search("witness")]
    assert for_programs == sorted(for_programs)
    assert any(for_programs)
    assert search("  ") == []
    assert search("no such words xyzzy") == []


def _all(section: object) -> str:
    return f"{section.topic.title} {section.heading} {section.text}"  # type: ignore[attr-defined]


def test_an_excerpt_shows_the_word_that_was_looked_for() -> None:
    assert len(search("holding")) > 3
    for passage in search("holding"):
        words = f"{passage.section.topic.title} {passage.section.heading} {passage.excerpt}"
        assert "holding" in words.casefold()
        assert len(passage.excerpt) < 200


def test_a_topic_that_is_not_there_says_which_may_be_meant() -> None:
    with pytest.raises(WrongUsage, match="did you mean golden"):
        topic_named("goldn")


def test_every_section_has_its_anchor_on_the_page() -> None:
    assert len(search("the")) > 20
    for passage in search("the"):
        section = passage.section
        if section.heading:
            assert section.anchor.startswith(anchor(section.heading))
            assert section.anchor in seen(section.topic.name).ids


def test_no_topic_names_a_person_of_this_world_or_leads_outside() -> None:
    for topic in topics().values():
        hosts = re.findall(r"https?://([\w.-]+)", topic.text)
        assert [host for host in hosts if not host.endswith((".example", "127.0.0.1"))] == []
