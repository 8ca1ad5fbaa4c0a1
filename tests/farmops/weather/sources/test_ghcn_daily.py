"""The daily station archive in its two layouts, read beside a second reader."""

from pathlib import Path

import pandas as pd
import pytest
from django.conf import settings

from farmops.weather.sources import ghcn_daily
from farmops.weather.sources.days import assemble
from farmops.weather.sources.rows import UnreadableFile

FIXTURES = Path(settings.BASE_DIR) / "fixtures" / "weather"
ID = "US1XXINV001"


def values(text: str) -> dict[tuple[str, str], float]:
    return {
        (reading.day.isoformat(), reading.quantity): reading.value
        for reading in ghcn_daily.read(text=text).readings
    }


def line(
    day: str, element: str, value: str, measurement: str = "", quality: str = "", clock: str = ""
) -> str:
    return f"{ID},{day},{element},{value},{measurement},{quality},7,{clock}\n"


def test_the_wide_layout_agrees_with_a_second_reader() -> None:
    # The second reader is pandas: tenths divided by ten where the quality mark (second of the attributes) is blank.
    path = FIXTURES / "ghcn_wide.csv"
    table = pd.read_csv(path, dtype=str, keep_default_na=False).set_index("DATE")
    ours = values(path.read_text(encoding="utf-8"))
    expected = {}
    for element, quantity in (("PRCP", "rain_mm"), ("TMAX", "temp_max_c"), ("TMIN", "temp_min_c")):
        quality = table[f"{element}_ATTRIBUTES"].str.split(",").str[1].fillna("")
        number = pd.to_numeric(table[element].str.strip(), errors="coerce") / 10
        for day, value in number[quality.eq("") & number.notna()].items():
            expected[(day, quantity)] = value
    assert len(expected) == 10
    assert {key: value for key, value in ours.items() if key[1] != "wind_m_s"} == pytest.approx(expected)


def test_both_layouts_give_the_same_days() -> None:
    wide = (FIXTURES / "ghcn_wide.csv").read_text(encoding="utf-8")
    table = pd.read_csv(FIXTURES / "ghcn_wide.csv", dtype=str, keep_default_na=False)
    lines = []
    for row in table.to_dict("records"):
        for element in ("PRCP", "TMAX", "TMIN", "AWND"):
            if row[element].strip():
                marks = (row[f"{element}_ATTRIBUTES"] + ",,,").split(",")[:4]
                cells = [row["STATION"], row["DATE"].replace("-", ""), element, row[element].strip(), *marks]
                lines.append(",".join(cells))
    assert values("\n".join(lines)) == values(wide)
    assert len(lines) == 14


def test_tenths_become_degrees_and_millimeters_and_wind_comes_down_to_two_meters() -> None:
    text = line("20260401", "TMIN", "-53") + line("20260401", "PRCP", "254") + line("20260401", "AWND", "32")
    # FAO Irrigation and Drainage Paper 56, example 14: 3.2 m/s at 10 m is 2.4 m/s at 2 m.
    assert values(text) == {
        ("2026-04-01", "temp_min_c"): -5.3,
        ("2026-04-01", "rain_mm"): 25.4,
        ("2026-04-01", "wind_m_s"): pytest.approx(2.4, abs=0.05),
    }


@pytest.mark.parametrize(
    ("row", "kept"),
    [
        (line("20260401", "PRCP", "0", "T"), 0.0),
        (line("20260401", "PRCP", "3", "T"), 0.0),
        (line("20260401", "PRCP", "0"), 0.0),
        (line("20260401", "PRCP", "0", "P"), None),
        (line("20260401", "PRCP", "511", "A"), None),
        (line("20260401", "PRCP", "511", "", "G"), None),
        (line("20260401", "PRCP", "-9999"), None),
        (line("20260401", "PRCP", "511", "B"), 51.1),
    ],
)
def test_marks_decide_what_a_rain_value_means(row: str, kept: float | None) -> None:
    rest = line("20260401", "TMAX", "200")
    assert values(rest + row).get(("2026-04-01", "rain_mm")) == kept


@pytest.mark.parametrize(
    ("clock", "day"),
    [
        ("0700", "2026-03-31"),
        ("0000", "2026-03-31"),
        ("1159", "2026-03-31"),
        ("1200", "2026-04-01"),
        ("1700", "2026-04-01"),
        ("2400", "2026-04-01"),
        ("", "2026-04-01"),
        ("7am", "2026-04-01"),
    ],
)
def test_rain_and_high_read_in_the_morning_belong_to_the_day_before(clock: str, day: str) -> None:
    text = "".join(line("20260401", element, "100", clock=clock) for element in ("PRCP", "TMAX", "TMIN"))
    assert values(text) == {
        (day, "rain_mm"): 10.0,
        (day, "temp_max_c"): 10.0,
        ("2026-04-01", "temp_min_c"): 10.0,
    }


def test_a_station_that_changes_its_hour_keeps_the_days_own_reading() -> None:
    text = line("20260401", "PRCP", "10", clock="2400") + line("20260402", "PRCP", "90", clock="0700")
    file = ghcn_daily.read(text=text)
    assert [(reading.day.day, reading.value) for reading in file.readings] == [(1, 1.0)]
    assert any("has a reading of its own: 1 value" in note for note in file.notes)


def test_rain_over_several_days_is_left_out_and_said() -> None:
    file = ghcn_daily.read(text=line("20260401", "TMAX", "200") + line("20260401", "MDPR", "300"))
    assert len(file.readings) == 1
    assert file.notes == ["Left out, being rain over several days (MDPR): 1 value."]


def test_a_line_that_names_the_columns_of_the_long_layout_is_passed_over() -> None:
    text = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n" + line("20260401", "TMAX", "200")
    assert values(text) == {("2026-04-01", "temp_max_c"): 20.0}


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (f"{ID},20260231,TMAX,200,,,7,\n", "line 2: date '20260231' is not a day of the calendar"),
        (f"{ID},20260401,TMAX,warm,,,7,\n", "line 2: TMAX 'warm' is not a whole number"),
        (f"{ID},20260401,TMAX\n", "line 2: has 3 cells; this layout has 8"),
        (line("20260401", "AWND", "9999"), "line 2: AWND 9999 is out of range"),
        ("SHORT,20260401,TMAX,200,,,7,\n", "line 2: 'SHORT' is no station of eleven signs"),
    ],
)
def test_a_bad_line_of_the_long_layout_is_named(row: str, says: str) -> None:
    file = ghcn_daily.read(text=line("20260402", "TMAX", "200") + row)
    assert len(file.readings) == 1
    assert str(file.bad[0]).startswith(says)


def test_a_bad_line_of_the_wide_layout_is_left_out_whole() -> None:
    text = (FIXTURES / "ghcn_wide.csv").read_text(encoding="utf-8").replace('"  185"', '"wet"')
    file = ghcn_daily.read(text=text)
    assert [str(row) for row in file.bad] == ["line 3: PRCP 'wet' is not a whole number"]
    assert not any(reading.line == 3 for reading in file.readings)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("date,temp_min_c\n2026-04-01,5\n", "is neither layout of ghcn-daily"),
        ("US1XXINV001202604TMAX  200  7  210  7", "is the fixed-width layout"),
        (line("20260401", "TMAX", "25.6"), "It seems to be converted already"),
        ('"STATION","DATE","PRCP"\n"US1XXINV001","2026-04-01","0.25"\n', "gives PRCP as 0.25 \\(line 2\\)"),
        (line("20260401", "SNOW", "3"), "holds none of TMIN, TMAX, PRCP"),
        ('"STATION","DATE","SNOW"\n"US1XXINV001","2026-04-01","3"\n', "has no column TMIN"),
        ('"STATION","DATE","TMAX","TMAX"\n"US1XXINV001","2026-04-01","3","4"\n', "names TMAX twice"),
    ],
)
def test_another_file_is_refused_with_what_it_seems_to_be(text: str, says: str) -> None:
    with pytest.raises(UnreadableFile, match=says):
        ghcn_daily.read(text=text)


def test_whole_numbers_that_went_through_a_spreadsheet_are_still_tenths() -> None:
    assert values(line("20260401", "TMAX", "256.0"))[("2026-04-01", "temp_max_c")] == 25.6


def test_a_day_that_stands_twice_with_other_values_is_refused() -> None:
    text = line("20260401", "PRCP", "10") + line("20260401", "PRCP", "10") + line("20260401", "PRCP", "30")
    days, bad = assemble(ghcn_daily.read(text=text).readings)
    assert [str(row) for row in bad] == ["line 3: 2026-04-01 rain_mm is 3, but line 1 says 1"]
    assert days[0].values == {"rain_mm": 1.0}
