"""Listings of object dictionaries as hypothesis draws them, for what writes and reads them."""

from __future__ import annotations

from hypothesis import strategies as st

from vault.model.datatypes import BY_NAME
from vault.model.export import Entry, Scalar
from vault.model.parameters import code_order


def said(entry: Entry) -> tuple[object, ...]:
    return (
        entry.code, entry.written, entry.name, entry.data_type, entry.access,
        entry.low, entry.high, entry.default,
    )  # fmt: skip


TEXT = st.text(
    st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1, max_size=20
).filter(lambda text: text == text.strip())


def scalars(kind: str) -> st.SearchStrategy[Scalar]:
    found = BY_NAME[kind]
    if found.low is not None and found.high is not None:
        return st.integers(found.low, found.high)
    if found.family == "real":
        return st.decimals(-(10**9), 10**9, places=6)
    if found.family == "octets":
        size = found.bits // 8
        return st.binary(min_size=size or 1, max_size=size or 12).map(bytes.hex)
    return TEXT


@st.composite
def entries(draw: st.DrawFn, code: str) -> Entry:
    kind = draw(st.sampled_from(sorted(BY_NAME)))
    some = st.none() | scalars(kind)
    low, high = (draw(some), draw(some)) if BY_NAME[kind].is_number else (None, None)
    written = scalars(kind) | st.just("") if BY_NAME[kind].family == "text" else scalars(kind)
    access = draw(st.sampled_from(["rw", "ro", "wo", "const"]))
    name = draw(TEXT | st.just(""))
    return Entry(code, draw(written), 0, name, "", kind, access, low, high, draw(some))


CODES = st.builds(
    lambda index, sub: f"0x{index:04X}:{sub:02X}",
    st.integers(0x1000, 0x1010) | st.integers(0x2000, 0x2004) | st.integers(0x6060, 0x6064),
    st.integers(0, 3) | st.just(255),
)
CONTENTS = st.lists(CODES, min_size=1, max_size=12, unique=True).flatmap(
    lambda codes: st.tuples(*(entries(code) for code in sorted(codes, key=code_order)))
)
PLATES = st.fixed_dictionaries(
    {},
    optional={
        "vendor": TEXT,
        "product": TEXT,
        "node_name": TEXT,
        "node_id": st.integers(1, 127).map(str),
        "bit_rate": st.sampled_from(["125", "1000"]),
    },
)
