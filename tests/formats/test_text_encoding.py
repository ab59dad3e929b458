"""Text encodings of exports. Outside reference: Python's own codecs; the texts are invented."""

from __future__ import annotations

import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.formats.text_encoding import HALF_CHARACTER, decode, encode, split_lines
from vault.model.errors import Unreadable, WrongUsage

TEXT = "Größe µ\r\nÜberlauf\r\n"
USUAL = ("utf-8", "windows-1252")
LISTED = (*USUAL, "utf-16")


@pytest.mark.parametrize(
    ("content", "listed", "found"),
    [
        (TEXT.encode("utf-8"), USUAL, "utf-8"),
        (TEXT.encode("utf-8-sig"), USUAL, "utf-8-sig"),
        (TEXT.encode("windows-1252"), USUAL, "windows-1252"),
        (TEXT.encode("latin-1"), ("utf-8", "latin-1"), "latin-1"),
        (b"\xff\xfe" + TEXT.encode("utf-16-le"), USUAL, "utf-16"),
        (b"\xfe\xff" + TEXT.encode("utf-16-be"), USUAL, "utf-16-be-sig"),
        (TEXT.encode("utf-16-le"), LISTED, "utf-16-le"),
        (TEXT.encode("utf-16-be"), LISTED, "utf-16-be"),
    ],
)
def test_the_encoding_of_a_text_is_found(
    content: bytes, listed: tuple[str, ...], found: str
) -> None:
    assert decode(content, listed) == (TEXT, found)


@pytest.mark.parametrize(
    "encoding",
    ["utf-8", "utf-8-sig", "utf-16", "utf-16-be-sig", "utf-16-le", "utf-16-be", "windows-1252"],
)
def test_lines_are_written_in_the_encoding_that_was_found(encoding: str) -> None:
    encoded = encode([("a", "Größe µ"), ("b", "Überlauf")], encoding, "\r\n")
    assert decode(encoded, (*LISTED, "windows-1252")) == (TEXT, encoding)


def test_a_byte_order_mark_goes_before_the_list() -> None:
    assert decode(TEXT.encode("utf-8-sig"), ("windows-1252",)) == (TEXT, "utf-8-sig")


def test_the_first_listed_encoding_that_fits_is_taken() -> None:
    assert decode("ü".encode(), ("windows-1252", "utf-8"))[0] == "Ã¼"


def test_a_list_that_asks_for_a_mark_also_takes_text_without_one() -> None:
    assert decode(b"K1;1\n", ("utf-8-sig",)) == ("K1;1\n", "utf-8")


def test_bytes_that_fit_no_encoding_are_refused_with_byte_and_line() -> None:
    # 0x81 is assigned in no version of windows-1252 (from memory).
    with pytest.raises(Unreadable, match=r"a\.csv, line 2: byte 14 .*utf-8, windows-1252"):
        decode(b"Code;Value\nK1;\x81\n", USUAL, file="a.csv")


def test_an_encoding_that_python_does_not_know_is_refused() -> None:
    with pytest.raises(Unreadable, match="morse"):
        decode(b"K1", ("morse",))


@pytest.mark.parametrize("listed", [USUAL, LISTED])
def test_nul_characters_are_refused_with_their_line(listed: tuple[str, ...]) -> None:
    with pytest.raises(Unreadable, match=r"line \d: "):
        decode(b"Code;Value\nK1;\x00\x00\n", listed)


def test_text_that_should_be_utf_16_and_is_not_is_refused() -> None:
    with pytest.raises(Unreadable, match="this is no utf-16 text"):
        decode(b"K1;1\n", ("utf-16",))


def test_a_head_may_end_within_a_character() -> None:
    assert decode("grö".encode()[:-1], ("utf-8",), final=False) == ("gr", "utf-8")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-be"])
def test_a_text_cut_off_within_a_character_can_be_accepted(encoding: str) -> None:
    content = "größer ö".encode(encoding)[:-1]
    text, _ = decode(content, LISTED, cut_off=True)
    assert text == "größer " + HALF_CHARACTER


def test_a_text_cut_off_within_a_character_is_refused_otherwise() -> None:
    with pytest.raises(Unreadable, match="byte 2"):
        decode("grö".encode()[:-1], ("utf-8",))


def test_one_odd_byte_behind_plain_ascii_is_of_the_next_encoding() -> None:
    content = "caf\u00e9".encode("windows-1252")
    assert decode(content, USUAL, cut_off=True) == ("caf\u00e9", "windows-1252")


def test_lines_end_with_cr_lf_or_cr_or_lf_alone() -> None:
    assert split_lines("a\r\nb\rc\nd\x0b\x0c\u2028e") == ["a\r\n", "b\r", "c\n", "d\x0b\x0c\u2028e"]


@pytest.mark.parametrize(("text", "encoding"), [("\u03a9", "windows-1252"), ("\0", "utf-8")])
def test_a_character_that_cannot_be_written_is_refused_naming_its_owner(
    text: str, encoding: str
) -> None:
    with pytest.raises(WrongUsage, match=f"K2: .* as {encoding} text"):
        encode([("K1", "a"), ("K2", text)], encoding, "\n")


def test_an_unknown_encoding_cannot_be_written() -> None:
    with pytest.raises(WrongUsage, match="morse"):
        encode([("K1", "a")], "morse", "\n")


@given(st.text(st.characters(exclude_characters="\0\ufeff", exclude_categories=["Cs"])))
def test_any_text_survives_each_encoding_with_a_mark(text: str) -> None:
    for encoding in ("utf-8-sig", "utf-16", "utf-16-be-sig"):
        encoded = encode([("it", text)], encoding, "\n")
        assert decode(encoded, USUAL) == (f"{text}\n", encoding)


@pytest.mark.parametrize("name", ["zlib", "bz2", "base64", "rot13"])
def test_a_codec_that_unpacks_is_no_encoding_of_text(name: str) -> None:
    packed = zlib.compress(b"a" * 1000)
    with pytest.raises(Unreadable, match=f"{name!r} is no encoding of text"):
        decode(packed, (name,))


@pytest.mark.parametrize("name", ["undefined", "idna", "punycode"])
def test_what_a_codec_without_places_refuses_is_refused_in_our_words(name: str) -> None:
    with pytest.raises(Unreadable, match=f"does not fit {name} text"):
        decode(b"\xffa..b", (name,))
