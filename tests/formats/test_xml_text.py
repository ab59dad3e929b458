"""XML with its places, held against xml.etree.ElementTree of Python. All texts are invented."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.formats import xml_text
from vault.formats.xml_text import Value, XmlElement, read_xml
from vault.model.errors import Unreadable, WrongUsage

BLANKS = " \t\r\n"
TEXTS = st.text(
    st.characters(
        exclude_categories=["Cs", "Cc"],
        exclude_characters="\ufffe\uffff",
        include_characters="\t\n\r",
    ),
    max_size=12,
)
NAMES = st.sampled_from(["Object", "value", "größe", "{urn:hazel}unit", "a-1"])
ENCODINGS = ["utf-8", "utf-16", "utf-16-be", "iso-8859-1", "windows-1252"]


@st.composite
def elements(draw: st.DrawFn, depth: int = 3) -> ElementTree.Element:
    made = ElementTree.Element(draw(NAMES), draw(st.dictionaries(NAMES, TEXTS, max_size=3)))
    made.text, made.tail = draw(TEXTS), draw(TEXTS)
    if depth:
        made.extend(draw(st.lists(elements(depth - 1), max_size=3)))
    return made


def serialised(root: ElementTree.Element, encoding: str) -> bytes:
    root.tail = None
    if encoding != "utf-16-be":
        return bytes(ElementTree.tostring(root, encoding=encoding, xml_declaration=True))
    text = ElementTree.tostring(root, encoding="unicode")
    return f"\ufeff<?xml version='1.0' encoding='UTF-16'?>{text}".encode("utf-16-be")


def values(element: XmlElement) -> list[Value]:
    return [v for e in element.walk() for v in (*e.attributes.values(), e.value)]


def of_reference(content: bytes) -> Iterator[str]:
    """Attributes and texts as ElementTree reads them, in the order of the file."""
    for element in ElementTree.fromstring(content).iter():
        yield from element.attrib.values()
        yield (element.text or "").strip(BLANKS)


def names(content: bytes) -> list[tuple[str, list[str]]]:
    return [(e.tag, [*e.attrib]) for e in ElementTree.fromstring(content).iter()]


@given(elements(), st.sampled_from(ENCODINGS))
def test_names_attributes_and_texts_are_those_of_the_reference(
    root: ElementTree.Element, encoding: str
) -> None:
    content = serialised(root, encoding)
    read = [*read_xml(content, file="a.xml").root.walk()]
    found = [(f"{{{e.namespace}}}{e.tag}" if e.namespace else e.tag) for e in read]
    assert [*zip(found, ([*e.attributes] for e in read), strict=True)] == names(content)
    assert [v.text for e in read for v in (*e.attributes.values(), e.value)] == [
        *of_reference(content)
    ]


@given(elements(), st.sampled_from(ENCODINGS))
def test_the_bytes_of_a_value_read_as_its_text(root: ElementTree.Element, encoding: str) -> None:
    xml = read_xml(serialised(root, encoding), file="a.xml")
    for value in values(xml.root):
        spelled = xml.content[value.start : value.end].decode(xml.codec)
        if value.form == "empty":
            assert spelled == "/>"
            continue
        quote = {"double": '"', "single": "'"}.get(value.form)
        if quote:
            read = ElementTree.fromstring(f"<a b={quote}{spelled}{quote}/>").get("b")
        else:
            read = ElementTree.fromstring(f"<a>{spelled}</a>").text or ""
        assert (read or "").strip(BLANKS) == value.text.strip(BLANKS)


def between(content: bytes, chosen: list[int]) -> bytes:
    """What stands outside of some values."""
    there = values(read_xml(content, file="a.xml").root)
    parts, at = [], 0
    for value in sorted((there[n] for n in chosen), key=lambda v: v.start):
        parts.append(content[at : value.start])
        at = value.end
    return b"".join([*parts, content[at:]])


@given(elements(), st.sampled_from(ENCODINGS), st.data())
def test_what_was_replaced_reads_back_and_nothing_else_moved(
    root: ElementTree.Element, encoding: str, data: st.DataObject
) -> None:
    content = serialised(root, encoding)
    xml = read_xml(content, file="a.xml")
    there = values(xml.root)
    places = st.sampled_from([n for n, value in enumerate(there) if value.form != "split"])
    texts = TEXTS.map(lambda text: text.strip(BLANKS))
    new = data.draw(st.dictionaries(places, texts, max_size=5))
    written = xml.replaced((there[n], text) for n, text in new.items())
    wanted = [new.get(n, text) for n, text in enumerate(of_reference(content))]
    assert [*of_reference(written)] == wanted
    assert names(written) == names(content)
    spelled_out = [n for n in new if there[n].form != "empty"]
    if len(spelled_out) == len(new):
        assert between(written, spelled_out) == between(content, spelled_out)


HAND_MADE = b"""<?xml version="1.0"?>
<!-- made for this test -->
<drive>
  <p n = '6065'  v="50 &#x3C; &quot;60&quot;"
     a="x"/>
  <q>
    7 <!-- in increments -->
  </q>
  <r><![CDATA[ 5 < 6 ]]></r>
  <s>1<!-- and -->2</s>
  <t></t>
</drive>
"""


def value_of(tag: str, attribute: str | None = None) -> Value:
    found = read_xml(HAND_MADE, file="a.xml").root.child(tag)
    assert found is not None
    return found.attributes[attribute] if attribute else found.value


def replaced(value: Value, text: str) -> bytes:
    return read_xml(HAND_MADE, file="a.xml").replaced([(value, text)])


@pytest.mark.parametrize(
    ("tag", "text", "line"), [("q", "7", 7), ("r", "5 < 6", 9), ("s", "12", 10), ("t", "", 11)]
)
def test_a_text_stands_in_its_line_without_blanks(tag: str, text: str, line: int) -> None:
    assert value_of(tag)[0] == text
    assert value_of(tag).line == line


def test_an_element_has_the_line_of_its_tag() -> None:
    lines = {e.tag: e.line for e in read_xml(HAND_MADE, file="a.xml").root.walk()}
    assert lines == {"drive": 3, "p": 4, "q": 6, "r": 9, "s": 10, "t": 11}


@pytest.mark.parametrize(
    ("tag", "attribute", "new", "old", "spelled"),
    [
        ("p", "v", 'a"b', b'"50 &#x3C; &quot;60&quot;"', b'"a&quot;b"'),
        ("p", "n", "it's", b"'6065'", b"'it&apos;s'"),
        ("q", None, "8", b"7 <!--", b"8 <!--"),
        ("r", None, "6]]>", b"[ 5 < 6 ]", b"[ 6]]]]><![CDATA[> ]"),
        ("t", None, "<9>", b"<t></t>", b"<t>&lt;9&gt;</t>"),
        ("p", None, "9", b'a="x"/>', b'a="x">9</p>'),
    ],
)
def test_a_value_is_replaced_in_the_way_it_is_spelled(
    tag: str, attribute: str | None, new: str, old: bytes, spelled: bytes
) -> None:
    assert replaced(value_of(tag, attribute), new) == HAND_MADE.replace(old, spelled)


def test_a_text_that_a_comment_takes_apart_is_not_replaced() -> None:
    with pytest.raises(WrongUsage, match="a comment") as caught:
        replaced(value_of("s"), "3")
    assert caught.value.line == 10


@pytest.mark.parametrize("text", ["\0", "\x1b", "\ud800", "\uffff"])
def test_a_text_that_xml_cannot_hold_is_refused(text: str) -> None:
    with pytest.raises(WrongUsage, match="cannot be written to XML"):
        replaced(value_of("q"), text)


def test_no_value_is_replaced_twice() -> None:
    xml = read_xml(HAND_MADE, file="a.xml")
    with pytest.raises(WrongUsage, match="twice"):
        xml.replaced([(value_of("q"), "1"), (value_of("q"), "2")])


def test_a_character_that_the_encoding_lacks_is_written_as_a_reference() -> None:
    content = "<?xml version='1.0' encoding='latin-1'?><a é='1'>ü</a>".encode("latin-1")
    xml = read_xml(content, file="a.xml")
    written = xml.replaced([(xml.root.value, "漢"), (xml.root.attributes["é"], "€")])
    assert written == content.replace(b"\xfc", b"&#28450;").replace(b"'1'>", b"'&#8364;'>")


def test_a_section_that_the_encoding_cannot_fill_is_left() -> None:
    xml = read_xml(b"<?xml version='1.0' encoding='ascii'?><a><![CDATA[x]]></a>", file="a.xml")
    with pytest.raises(WrongUsage, match="cannot be written as ascii"):
        xml.replaced([(xml.root.value, "ü")])


BOMB = b"""<?xml version="1.0"?>
<!DOCTYPE a [
 <!ENTITY b "ha"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;"><!ENTITY d "&c;&c;&c;&c;&c;&c;&c;&c;">
]>
<a>&d;</a>"""
EXTERNAL = b"""<?xml version="1.0"?>

<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/hostname">]><a>&b;</a>"""

HOSTILE = {
    "entities that grow": (BOMB, 2, "declares a document type"),
    "an external entity": (EXTERNAL, 3, "declares a document type"),
    "a document type elsewhere": (b"<!DOCTYPE a SYSTEM 'a.dtd'>\n<a/>", 1, "document type"),
    "an entity of nobody": (b"<a>\n&b;</a>", 2, "undefined entity"),
    "depth": (b"<a>\n" * 100_000, 101, "nested more than 100 deep"),
    "no end": (b"<a>\n<b>5</b>\n", 3, "seems cut off"),
    "no end of a tag": (b"<a>\n<b v='5", 2, "seems cut off"),
    "nothing": (b"", 1, "the file is empty"),
    "a prefix of nobody": (b"<a>\n<p:b/></a>", 2, "unbound prefix"),
    "other bytes than declared": (b"<a>\n\xff</a>", 2, "no well-formed XML"),
    "another encoding": (b"<?xml version='1.0' encoding='utf-16'?>\n<a/>", 1, "encoding"),
    "an encoding of nobody": (b"<?xml version='1.0' encoding='klingon'?><a/>", 1, "encoding"),
    "an encoding that hides tags": (b"<?xml version='1.0' encoding='cp037'?><a/>", 1, "encoding"),
    "a wide encoding": (b"<?xml version='1.0' encoding='shift_jis'?><a/>", 1, "encoding"),
    "UTF-32": ("<a/>".encode("utf-32"), 1, "no well-formed XML"),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_hostile_xml_is_refused_with_its_line(what: str) -> None:
    content, line, reason = HOSTILE[what]
    with pytest.raises(Unreadable, match=reason) as caught:
        read_xml(content, file="a.xml")
    assert (caught.value.file, caught.value.line) == ("a.xml", line)


def test_too_many_elements_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(xml_text, "_MOST_ELEMENTS", 5000)
    read_xml(b"<a>" + b"<b/>" * 4999 + b"</a>", file="a.xml")
    with pytest.raises(Unreadable, match="more than 5000 elements"):
        read_xml(b"<a>" + b"<b/>" * 5000 + b"</a>", file="a.xml")


def test_too_many_attributes_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(xml_text, "_MOST_ATTRIBUTES", 20_000)
    one = b"<b " + b" ".join(b"a%d='1'" % n for n in range(1000)) + b"/>"
    with pytest.raises(Unreadable, match="as many values"):
        read_xml(b"<a>" + one * 21 + b"</a>", file="a.xml")


def test_a_file_that_is_too_large_is_refused() -> None:
    with pytest.raises(Unreadable, match="more than 32 MiB"):
        read_xml(b"<a>" + b" " * 2**25 + b"</a>", file="a.xml")


@given(st.binary(max_size=200), st.integers(0, len(HAND_MADE)), st.integers(0, 30))
def test_bytes_of_any_kind_are_read_or_refused_in_our_words(
    content: bytes, at: int, gone: int
) -> None:
    for damaged in (content, HAND_MADE[:at] + content[:3] + HAND_MADE[at + gone :]):
        try:
            read_xml(damaged, file="a.xml")
        except Unreadable as refused:
            assert refused.line
