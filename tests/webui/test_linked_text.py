"""Texts with links in them. What stands in data never becomes markup."""

from __future__ import annotations

from html.parser import HTMLParser

from hypothesis import given
from hypothesis import strategies as st

from vault.model.visible_text import visible
from webui.linked_text import linked


class _Read(HTMLParser):
    """A fragment as the standard library reads it."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.addresses: list[str | None] = []
        self.text = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.addresses += [value for name, value in attrs if name == "href"]

    def handle_data(self, data: str) -> None:
        self.text += data


def test_a_word_leads_to_its_address() -> None:
    html = linked("Home offset: 0 mm became 1 mm.", {"Home offset": "/axis/m/a/parameter/607C"})
    assert html == '<a href="/axis/m/a/parameter/607C">Home offset</a>: 0 mm became 1 mm.'


def test_the_longer_of_two_words_is_taken() -> None:
    read = _Read(linked("Home offset sign", {"Home offset": "/short", "Home offset sign": "/long"}))
    assert read.addresses == ["/long"]


def test_a_part_of_a_word_is_none() -> None:
    assert "<a" not in linked("Homes and at home", {"Home": "/home"})


def test_a_short_word_stays_a_word() -> None:
    assert "<a" not in linked("it is 5 mm", {"is": "/is"})


_TEXTS = st.text(alphabet="ab <>&\"'/=;:()\u202e\x00", max_size=40)


@given(_TEXTS, st.dictionaries(_TEXTS, st.just("/there"), max_size=4))
def test_whatever_stands_in_data_stays_text(text: str, addresses: dict[str, str]) -> None:
    read = _Read(linked(text, addresses))
    assert set(read.tags) <= {"a"}
    assert set(read.addresses) <= {"/there"}
    assert read.text.replace("\r", "\n") == visible(text)
