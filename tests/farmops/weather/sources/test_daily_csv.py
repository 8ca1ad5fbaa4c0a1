"""Our own plain CSV: what is written comes back, and what is not understood is named."""

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.weather.sources import daily_csv
from farmops.weather.sources.days import assemble
from farmops.weather.sources.rows import QUANTITIES, UnreadableFile
from farmops.weather.sources.text import csv_rows, decoded

temperature = st.floats(-40, 45).map(lambda value: round(value, 2))
optional = {
    "solar_mj_m2": st.none() | st.floats(0, 40),
    "wind_m_s": st.none() | st.floats(0, 20),
    "humidity_min_pct": st.none() | st.floats(1, 50),
    "humidity_max_pct": st.none() | st.floats(50, 100),
}


@st.composite
def written_days(draw: st.DrawFn) -> dict[dt.date, dict[str, float | None]]:
    first = draw(st.dates(dt.date(1900, 1, 1), dt.date(2100, 1, 1)))
    days = {}
    for offset in sorted(draw(st.sets(st.integers(0, 40), min_size=1, max_size=12))):
        low, high = sorted([draw(temperature), draw(temperature)])
        days[first + dt.timedelta(days=offset)] = {
            "temp_min_c": low,
            "temp_max_c": high,
            "rain_mm": draw(st.floats(0, 300)),
            **{name: draw(strategy) for name, strategy in optional.items()},
        }
    return days


def written(
    days: dict[dt.date, dict[str, float | None]], columns: list[str], newline: str, mark: bool
) -> bytes:
    lines = [",".join(columns)]
    for day, row in days.items():
        cells = {"date": day.isoformat()}
        cells |= {name: "" if value is None else f"{value:.17f}" for name, value in row.items()}
        lines.append(",".join(cells[name] for name in columns))
    return ("\ufeff" if mark else "").encode() + newline.join(lines).encode()


@given(
    days=written_days(),
    columns=st.permutations(["date", *QUANTITIES]),
    newline=st.sampled_from(["\n", "\r\n"]),
    mark=st.booleans(),
)
def test_what_is_written_comes_back(
    days: dict[dt.date, dict[str, float | None]], columns: list[str], newline: str, mark: bool
) -> None:
    file = daily_csv.read(text=decoded(written(days, columns, newline, mark)), station="yard")
    back, bad = assemble(file.readings)
    assert (file.bad, bad) == ([], [])
    assert [day.day for day in back] == list(days)
    for day, row in zip(back, days.values()):
        assert set(day.values) == {name for name, value in row.items() if value is not None}
        for name, value in day.values.items():
            assert math.isclose(value, row[name] or 0.0, rel_tol=1e-9, abs_tol=1e-15)


@pytest.mark.parametrize(
    "cell", ["1_000", "٣", "１２.5", "1e400", "nan", "inf", "12,5", "--3", "0x1F", "12 mm", "9" * 400]
)
def test_what_only_looks_like_a_number_is_refused(cell: str) -> None:
    text = f'date,temp_min_c,temp_max_c,rain_mm\n2026-04-01,5,20,"{cell}"\n'
    file = daily_csv.read(text=text, station="yard")
    assert file.readings == []
    assert [(row.line, "is not a number" in row.says) for row in file.bad] == [(2, True)]


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ("4/1/2026", "is not of the form YYYY-MM-DD"),
        ("20260401", "is not of the form YYYY-MM-DD"),
        ("2026-02-30", "is not in the calendar"),
        ("0226-04-01", "is not between 1800 and 2200"),
        ("9999-12-31", "is not between 1800 and 2200"),
        ("", "is not of the form YYYY-MM-DD"),
    ],
)
def test_a_date_of_another_form_is_named_with_its_line(cell: str, says: str) -> None:
    text = f"date,temp_min_c,temp_max_c,rain_mm\n2026-04-02,5,20,0\n\n{cell},5,20,0\n"
    file = daily_csv.read(text=text, station="yard")
    assert [(row.where, says in row.says) for row in file.bad] == [("line 4", True)]


def test_a_row_with_a_missing_cell_is_named() -> None:
    file = daily_csv.read(text="date,temp_min_c,temp_max_c,rain_mm\n2026-04-01,5,20\n", station="yard")
    assert str(file.bad[0]) == "line 2: has 3 cells, the header names 4"


def test_an_empty_cell_is_missing_and_not_zero() -> None:
    file = daily_csv.read(text="date,temp_min_c,temp_max_c,rain_mm\n2026-04-01,5,20,\n", station="yard")
    assert {reading.quantity for reading in file.readings} == {"temp_min_c", "temp_max_c"}


def test_every_fault_of_a_header_is_said_at_once() -> None:
    with pytest.raises(UnreadableFile) as refusal:
        daily_csv.read(text="date,temp_max_c,temp_max_f,rain_cm\n", station="yard")
    says = str(refusal.value)
    assert "'rain_cm' is no column" in says
    assert "'temp_max_c' stands twice" in says
    assert "'temp_min_c' is missing" in says
    assert "'rain_mm' is missing" in says


def test_a_line_keeps_its_number_after_a_quoted_line_break() -> None:
    assert [line for line, _ in csv_rows('a,b\n"x\ny",1\nz,2\n')] == [1, 2, 4]
    with pytest.raises(UnreadableFile, match="not a comma-separated file"):
        list(csv_rows('a,b\n"x" y,1\n'))


def test_the_units_of_the_country_stand_in_their_column_and_are_kept_as_the_others() -> None:
    """32 °F is 0 °C and 212 °F is 100 °C by definition; an inch is 25.4 mm (1959 agreement)."""
    file = daily_csv.read(text="date,temp_min_f,temp_max_f,rain_in\n2026-04-01,32,77,0.5\n", station="yard")
    assert {one.quantity: one.value for one in file.readings} == {
        "temp_min_c": 0.0,
        "temp_max_c": 25.0,
        "rain_mm": 12.7,
    }
