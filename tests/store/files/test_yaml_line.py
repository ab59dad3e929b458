"""Texts within a line of YAML are read back as they were, whatever is in them."""

from __future__ import annotations

from hypothesis import example, given

from tests.store.files.yaml_readers import texts
from vault.store.files.yaml_line import in_line, scalar
from vault.store.files.yaml_text import load


@given(texts)
@example("\U000e0001")
@example("a\U000f0000b")
def test_a_text_within_a_line_is_read_back_and_shows_all_there_is_to_it(text: str) -> None:
    line = f"a: {{{scalar(text)}: {in_line([text])}}}"
    assert line.isprintable()
    assert load(line.encode(), "a.yaml") == {"a": {text: [text]}}
