"""Alerts as data."""

from __future__ import annotations

import json
from datetime import datetime, timedelta, timezone

import pytest

from tests.receivers import an_alert
from vault.model.alerts import Alert


def test_an_alert_reads_back_from_json_as_it_was() -> None:
    here = timezone(timedelta(hours=1))
    for alert in (
        an_alert(),
        an_alert(time=datetime(2026, 3, 1, 8, 0, 0, 123456, tzinfo=here), links=(), golden=None),
        an_alert(status="overdue", worst=None, sentences=("µ\n\"'",)),
    ):
        assert Alert.from_mapping(json.loads(json.dumps(alert.as_mapping()))) == alert


def test_a_key_of_a_later_program_is_passed_over() -> None:
    assert Alert.from_mapping({**an_alert().as_mapping(), "later": 1}) == an_alert()


def test_a_time_without_offset_and_an_unknown_status_are_refused() -> None:
    with pytest.raises(ValueError, match="offset"):
        an_alert(time=datetime(2026, 3, 1))
    with pytest.raises(ValueError, match="status"):
        an_alert(status="fine")


def test_a_subject_is_one_line() -> None:
    assert an_alert(subject="lift\r\n drifted ").subject == "lift drifted"


def test_the_text_is_sentences_then_links() -> None:
    alert = an_alert(sentences=("One.", "Two."), links=("http://a.example/",))
    assert alert.text == "One.\nTwo.\n\nhttp://a.example/"
    assert an_alert(sentences=("One.",), links=()).text == "One."
