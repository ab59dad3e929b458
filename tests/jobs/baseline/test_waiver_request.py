"""What people type to waive a parameter, in options or a form."""

from __future__ import annotations

import pytest

from vault.jobs.baseline.waiver_request import WaiverRequest, parse_waiver_request
from vault.model.errors import Refused, VaultError, WrongUsage
from vault.model.golden import Allowance


def test_everything_that_was_typed_is_read() -> None:
    found = parse_waiver_request(
        " lim/lag ", allow=" 4..6 mm ", until=" 2099-12-31 ", reason="worn\nscrew"
    )
    assert found == WaiverRequest("lim/lag", Allowance.parse("4..6 mm"), "2099-12-31", "worn screw")


@pytest.mark.parametrize(
    ("name", "text", "error", "said"),
    [
        ("parameter", "", WrongUsage, "the field 'code' is empty"),
        ("allow", " ", WrongUsage, "the field 'allow' is empty"),
        ("allow", "6..4 mm", WrongUsage, "6..4 mm"),
        ("until", None, WrongUsage, "the field 'until' is empty"),
        ("until", "some day", WrongUsage, "'some day' is no date or time"),
        ("until", "2020-01-01", WrongUsage, "2020-01-01 has passed"),
        ("reason", " \n", Refused, "a waiver needs a reason"),
    ],
)
def test_what_is_missing_or_cannot_be_is_named(
    name: str, text: str | None, error: type[VaultError], said: str
) -> None:
    typed = {"allow": "any", "until": "2099-12-31", "reason": "worn screw", name: text}
    parameter = typed.pop("parameter", "lim/lag")
    with pytest.raises(error, match=said):
        parse_waiver_request(parameter, **typed)  # type: ignore[arg-type]
