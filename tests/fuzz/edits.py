"""Hostile variants of a file: hypothesis draws what is done to it, the seed is a whole one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import strategies as st

if TYPE_CHECKING:
    from collections.abc import Sequence

TOKENS = (
    b"", b"\0", b"\n", b"\r", b"\t", b" ", b"=", b":", b";", b",", b'"', b"'", b"[", b"]", b"{",
    b"}", b"&a", b"*a", b"!!python/object", b"<<: *a", b"---", b"...", b"#", b"%", b"|", b">",
    b"- ", b"-1", b"0", b"1e999", b"1e-999", b"nan", b"inf", b"-inf", b"0x",
    b"0xFFFFFFFFFFFFFFFFFF", b"9" * 70, b"0." + b"0" * 40 + b"1", b"1_000", b"1,200.5",
    b"$NODEID+", b"$NODEID", b"main~1", b"HEAD^{tree}", b"../../x", b"/etc/passwd", b"CON",
    b"\xff\xfe", b"\xef\xbb\xbf", "\u202e".encode(), "\u2028".encode(), "\u0665".encode(),
    b"\x1b[31m", b"A" * 4000, b"[" * 300, b"{" * 300, b"2999-01-01T00:00:00Z", b"1960-01-01",
    b"true", b"null", b"~", b"no",
)  # fmt: skip
"""What is put in: signs of the formats, numbers that are none, names that mean something else."""

Edit = tuple[str, int, int, bytes]
"""What is done, at which place and over which length (both out of 65,536), and with what."""

EDITS: st.SearchStrategy[list[Edit]] = st.lists(
    st.tuples(
        st.sampled_from(("put", "replace", "cut", "double", "flip", "end", "lines")),
        st.integers(0, 65535),
        st.integers(0, 65535),
        st.sampled_from(TOKENS) | st.binary(max_size=8),
    ),
    min_size=1,
    max_size=6,
)


def edited(seed: bytes, edits: Sequence[Edit]) -> bytes:
    """The seed with some edits one after the other."""
    for what, place, length, token in edits:
        seed = _edited(seed, what, place, length, token)
    return seed


def _edited(content: bytes, what: str, place: int, length: int, token: bytes) -> bytes:
    at = place * len(content) // 65536
    end = min(len(content), at + 1 + length * 64 // 65536)
    match what:
        case "put":
            return content[:at] + token + content[at:]
        case "replace":
            return content[:at] + token + content[end:]
        case "cut":
            return content[:at] + content[end:]
        case "double":
            return content[:end] + content[at:]
        case "flip":
            changed = bytes(byte ^ (length % 255 + 1) for byte in content[at : at + 1])
            return content[:at] + changed + content[at + 1 :]
        case "end":
            return content[:at]
        case _:  # two lines change places
            lines = content.split(b"\n")
            one, other = place % len(lines), length % len(lines)
            lines[one], lines[other] = lines[other], lines[one]
            return b"\n".join(lines)
