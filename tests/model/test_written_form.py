"""What is printed for people is read again as what it was, in every form that a site may choose.

The reference for offsets is the standard library's zoneinfo with the IANA database.
"""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import get_args
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from vault.meaning.findings import digits
from vault.meaning.measured_move import parse_move, typed_move
from vault.meaning.sentences import number_text
from vault.model.errors import WrongUsage
from vault.model.golden import Allowance
from vault.model.quantities import Measure
from vault.model.site import WrittenRecord
from vault.model.wording import plural
from vault.model.written_form import (
    DateForm,
    DecimalMark,
    WrittenForm,
    day_text,
    minute_text,
    placed,
    written_as,
    zone_text,
)
from vault.store.clock import is_bare_date, now, parse_time

FORMS = st.builds(
    WrittenForm,
    decimal=st.sampled_from(get_args(DecimalMark)),
    dates=st.sampled_from(get_args(DateForm)),
    zone=st.sampled_from([None, "Europe/Berlin", "America/St_Johns", "Asia/Kolkata"]),
)
COMMA = WrittenForm("comma", "day.month.year", "Europe/Berlin")
MINUTES = st.datetimes(datetime(1970, 1, 2), datetime(2200, 1, 1), timezones=st.just(UTC)).map(
    lambda moment: moment.replace(second=0, microsecond=0)
)


@given(FORMS, st.decimals(-(10**9), 10**9, places=4) | st.integers(-(10**9), 10**9))
def test_a_number_that_is_printed_is_read_as_that_number(
    form: WrittenForm, number: Decimal | int
) -> None:
    with written_as(form):
        assert Measure.typed(f"{number_text(number)} mm") == Measure(Decimal(number), "mm")


@given(FORMS, st.floats(1e-3, 1e9))
def test_a_figure_that_is_printed_is_read_as_what_it_says(form: WrittenForm, number: float) -> None:
    with written_as(form):
        assert float(Measure.typed(digits(number, 12)).value) == pytest.approx(number, rel=1e-2)


@given(FORMS, MINUTES, st.timezones())
def test_a_time_that_is_printed_is_read_as_that_time_wherever_it_was_noted(
    form: WrittenForm, moment: datetime, noted_in: ZoneInfo
) -> None:
    noted = moment.astimezone(noted_in)
    offset = noted.utcoffset() or timedelta()
    if offset.total_seconds() % 60:  # the mean times of before zones
        return
    with written_as(form):
        text = minute_text(noted)
        read = parse_time(text)
    if read != noted:  # an hour that the clock on the wall shows twice
        assert abs(read - noted) <= timedelta(hours=1)
        assert noted.replace(fold=0).utcoffset() != noted.replace(fold=1).utcoffset() or form.zone


@given(FORMS, st.dates(date(1970, 1, 2), date(2200, 1, 1)))
def test_a_day_is_read_from_its_begin_or_to_its_end(form: WrittenForm, day: date) -> None:
    with written_as(form):
        text = day_text(day)
        assert is_bare_date(text)
        assert parse_time(text, begins=True).date() == parse_time(text).date() == day
        assert parse_time(text, begins=True) < parse_time(text)
        assert parse_time(day.isoformat()) == parse_time(text), "ISO is read everywhere"


@given(st.sampled_from(["Europe/Berlin", "America/St_Johns"]), MINUTES)
def test_a_moment_gets_the_offset_that_the_zone_has_then(zone: str, moment: datetime) -> None:
    with written_as(WrittenForm(zone=zone)):
        there = placed(moment)
    assert there == moment
    assert there.utcoffset() == moment.astimezone(ZoneInfo(zone)).utcoffset()
    later = there + timedelta(days=180)
    assert later - there == timedelta(days=180), "the clock on the wall is not reckoned with"


@pytest.mark.parametrize(
    ("moment", "text"),
    [
        ("2026-07-01T08:00+02:00", "01.07.2026 08:00"),
        ("2026-01-02T08:00+01:00", "02.01.2026 08:00"),
        ("2026-01-02T08:00+02:00", "02.01.2026 08:00 +02:00"),
        ("2026-01-02T08:00-03:30", "02.01.2026 08:00 -03:30"),
    ],
)
def test_an_offset_stands_beside_a_time_of_another_zone_only(moment: str, text: str) -> None:
    with written_as(COMMA):
        assert minute_text(datetime.fromisoformat(moment)) == text


def test_the_zone_is_told_with_the_offset_of_the_day() -> None:
    with written_as(COMMA):
        summer = datetime(2026, 7, 1, tzinfo=UTC)
        assert zone_text(summer) == "Europe/Berlin (UTC+02:00 today)"
        assert now().utcoffset() == now().astimezone(ZoneInfo("Europe/Berlin")).utcoffset()


def test_a_comma_site_has_points_between_thousands() -> None:
    with written_as(COMMA):
        assert number_text(Decimal("1200.5")) == "1.200,5"
        assert digits(0.1254) == "0,1254"
        assert plural(1200, "axis", "axes") == "1.200 axes"
        assert Measure.typed("1.200 mm/s") == Measure(Decimal(1200), "mm/s")
        assert Measure.typed("0,625 mm") == Measure(Decimal("0.625"), "mm")
    assert number_text(Decimal("1200.5")) == "1,200.5"


def test_what_a_file_says_does_not_depend_on_the_site() -> None:
    with written_as(COMMA):
        assert Measure.parse("1.200 mm") == Measure(Decimal("1.2"), "mm")


@pytest.mark.parametrize(
    ("typed", "kept", "told"),
    [
        ("1.200..1.500,5 mm", "1200 mm..1500.5 mm", "1200 mm..1500,5 mm"),
        ("..4,5 mm", "..4.5 mm", "..4,5 mm"),
        ("1.200 mm", "1200 mm", "1200 mm"),
        ("Ramp, 1.5 down", "Ramp, 1.5 down", "Ramp, 1.5 down"),
        ("any", "any", "any"),
    ],
)
def test_a_waiver_is_kept_in_the_form_of_files_and_told_in_that_of_the_site(
    typed: str, kept: str, told: str
) -> None:
    with written_as(COMMA):
        allowance = Allowance.typed(typed)
        assert (allowance.text, allowance.told) == (kept, told)
    assert Allowance.parse(kept).bounds == allowance.bounds


@pytest.mark.parametrize("text", ["31.02.2026", "2026.01.02", "1.2.26", "12/31/2026", "01.13.2026"])
def test_what_is_no_date_of_the_site_is_refused(text: str) -> None:
    with written_as(COMMA), pytest.raises(WrongUsage, match="is no date or time"):
        parse_time(text)


def test_the_site_chooses_between_day_and_month_first() -> None:
    with written_as(WrittenForm(dates="month/day/year")):
        assert parse_time("02/03/2026").month == 2
    with written_as(WrittenForm(dates="day/month/year")):
        assert parse_time("02/03/2026").month == 3


@pytest.mark.parametrize("zone", ["Tile/Works", "../etc/passwd", "/etc/localtime", ""])
def test_a_zone_that_there_is_not_is_refused(zone: str) -> None:
    with pytest.raises(ValidationError, match="no time zone has this name"):
        WrittenRecord(zone=zone)


def test_a_time_that_is_none_is_answered_in_the_form_of_the_site() -> None:
    with written_as(COMMA), pytest.raises(WrongUsage) as refused:
        parse_time("10:15")
    assert "write it like 01.03.2026 14:30" in (refused.value.hint or "")


@pytest.mark.parametrize("decimal", ["point", "comma"])
def test_a_measured_move_is_kept_in_the_form_of_files(decimal: DecimalMark) -> None:
    typed = "300 mm=300,125 mm" if decimal == "comma" else "300 mm=300.125 mm"
    with written_as(WrittenForm(decimal)):
        kept = typed_move(typed)
        assert kept == "300 mm=300.125 mm"
        assert parse_move(kept).ratio == Fraction(300125, 300000)
    with written_as(WrittenForm("comma" if decimal == "point" else "point")):
        assert parse_move(kept).ratio == Fraction(300125, 300000), "files have one form"


def test_times_of_files_have_one_form_on_all_sites() -> None:
    for dates in get_args(DateForm):
        with written_as(WrittenForm(dates=dates)):
            assert parse_time("2026-04-03", of_file=True).month == 4
            for text in ("03/04/2026", "03.04.2026"):
                with pytest.raises(WrongUsage):
                    parse_time(text, of_file=True)
