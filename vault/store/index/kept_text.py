"""The text of a snapshot's record as the index keeps it: small, by what an earlier one says.

Records of a vault are much alike. Each is kept as what it adds to a typical one, the first that was
entered (raw deflate with a preset dictionary: RFC 1951; zlib's `zdict`).
"""

from __future__ import annotations

import zlib

_MOST = 2000  # bytes: it comes along with every text
TYPICAL = f"(SELECT typical FROM state WHERE length(typical) <= {_MOST})"
"""Of a question that has texts: asked by itself, it may be that of another, newer index."""
_RAW, _MEMORY = -12, 5  # no head and no check sum; small, so that it is quickly at work
# Longer ones are not made smaller, and none comes out longer than this or than what is kept: a few
# bytes that somebody made could become a thousand times as many.
_LONG = 1 << 14


def typical_text(text: bytes) -> bytes:
    """What later texts are kept by, where this is the first."""
    return text[:_MOST]


def kept_text(text: bytes, typical: bytes) -> bytes:
    """A text as it is kept."""
    level = zlib.Z_NO_COMPRESSION if len(text) > _LONG else zlib.Z_DEFAULT_COMPRESSION
    packing = zlib.compressobj(level, wbits=_RAW, memLevel=_MEMORY, zdict=typical)
    return packing.compress(text) + packing.flush()


def read_kept_text(kept: bytes, typical: bytes) -> bytes:
    """The text that is kept so; of damaged bytes another one, or none at all."""
    unpacking = zlib.decompressobj(_RAW, typical)
    try:
        text = unpacking.decompress(kept, max(_LONG, len(kept)) + 1)
    except zlib.error:
        return b""
    return text if unpacking.eof and not unpacking.unused_data else b""
