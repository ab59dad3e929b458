"""Texts of records come back from the index as they were, and damaged ones are not taken for them.

What the bytes are is RFC 1951 (deflate); all records are invented.
"""

from __future__ import annotations

import zlib
from random import randbytes

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.sweeps import part_of
from vault.store.index.kept_text import kept_text, read_kept_text, typical_text

RECORD = (
    b'schema: axisvault/snapshot/2\ntaken-at: "2026-03-05T08:00:00+00:00"\noccasion: routine\n'
    b'by: "Mira Okafor <mira@tileworks.example>"\nexport:\n  name: lift.csv\n  sha256: %s\n'
    b'family:\n  name: hazel\n  sha256: "996b4a976a518fc309246c5d81568c86ae1290726bc7b09cf5fdedd"\n'
)
FIRST, NEXT = RECORD % (b"1e" * 32), RECORD % (b"a7" * 32)
BESIDE_LONG = [n * b"a" for n in (16383, 16384, 16385, 16386, 10**6)]
some_bytes = st.binary(max_size=200) | st.sampled_from([FIRST, NEXT, 9 * FIRST + NEXT])


@settings(max_examples=part_of(500, 2), deadline=None)
@given(some_bytes | st.sampled_from([*BESIDE_LONG, randbytes(16384), randbytes(16385)]), some_bytes)
def test_any_text_comes_back_as_it_was(text: bytes, first: bytes) -> None:
    typical = typical_text(first)
    assert read_kept_text(kept_text(text, typical), typical) == text


def test_a_record_takes_little_room_beside_one_like_it() -> None:
    assert len(kept_text(NEXT, typical_text(FIRST))) < len(NEXT) / 4


def test_of_a_long_first_record_little_comes_along_with_every_other() -> None:
    assert len(typical_text(1000 * FIRST)) <= 2000


def test_what_somebody_made_to_become_very_long_is_no_text() -> None:
    packing = zlib.compressobj(wbits=-12)
    hostile = packing.compress(bytes(10**7)) + packing.flush()
    assert len(hostile) < 10**5
    assert read_kept_text(hostile, typical_text(FIRST)) == b""


@settings(max_examples=part_of(500, 2), deadline=None)
@given(st.data())
def test_a_flipped_bit_shows_by_the_check_sum_of_the_text(data: st.DataObject) -> None:
    typical = typical_text(FIRST)
    content = bytearray(kept_text(NEXT, typical))
    bit = data.draw(st.integers(0, 8 * len(content) - 1))
    content[bit // 8] ^= 1 << bit % 8
    text = read_kept_text(bytes(content), typical)
    assert text == NEXT or zlib.crc32(text) != zlib.crc32(NEXT)


@given(st.data())
def test_a_piece_of_it_is_no_text_nor_is_it_with_more_behind(data: st.DataObject) -> None:
    typical = typical_text(FIRST)
    kept = kept_text(NEXT, typical)
    assert read_kept_text(kept[: data.draw(st.integers(0, len(kept) - 1))], typical) == b""
    assert read_kept_text(kept + data.draw(st.binary(min_size=1, max_size=9)), typical) == b""


def test_by_another_typical_text_it_is_another_text() -> None:
    other = typical_text(FIRST.replace(b"hazel", b"rowan"))
    assert read_kept_text(kept_text(NEXT, typical_text(FIRST)), other) != NEXT
