"""The limits file: what it says, and what it refuses."""

from pathlib import Path

import pytest

from farmops.farms.models import Crop
from farmops.farms.operations import SPRAYING, Operation
from scheduling.windows.limits import (
    CROPS,
    Effect,
    LimitKind,
    LimitsError,
    Quantity,
    needed_share,
)
from scheduling.windows.limits_file import COLUMNS, SHIPPED, load_limits

HEADER = ",".join(COLUMNS)
GOOD = "wet,disk,,,topsoil,,,,,,,<=,1.0,share_of_workable,wetness,shuts,on,wet {value},mojado {value},farm judgement"


def write(folder: Path, *rows: str) -> Path:
    path = folder / "limits.csv"
    path.write_text("\n".join((HEADER, *rows)) + "\n", encoding="utf-8")
    return path


def row(**changes: str) -> str:
    cells = dict(zip(COLUMNS, GOOD.split(","), strict=True)) | changes
    return ",".join(cells[column] for column in COLUMNS)


def test_crops_of_the_limits_are_the_farms_crops() -> None:
    assert set(Crop.values) == CROPS


def test_every_shipped_limit_names_its_source_and_speaks_both_languages() -> None:
    for limit in load_limits():
        assert limit.source
        assert limit.says_en != limit.says_es


def test_every_operation_has_a_limit_that_can_shut_it() -> None:
    for operation in Operation:
        kinds = {
            limit.kind
            for limit in load_limits()
            if operation in limit.operations and limit.effect is Effect.SHUTS
        }
        assert kinds - {LimitKind.CERTAINTY}


@pytest.mark.parametrize(
    ("crop", "number_f", "depth_in"),
    [
        # University of Georgia Extension: cotton 65 F and peanuts 68 F for three days (4 in), corn 55 F at 2 in
        ("cotton", 65, 4),
        ("peanuts", 68, 4),
        ("corn", 55, 2),
    ],
)
def test_soil_must_be_as_warm_as_extension_says(crop: str, number_f: float, depth_in: float) -> None:
    found = [
        limit
        for limit in load_limits()
        if limit.crop == crop
        and limit.quantity is Quantity.SOIL_MEAN
        and limit.effect is Effect.SHUTS
        and limit.is_used
    ]
    assert [(limit.number, limit.depth_in) for limit in found] == [(number_f, depth_in)]


@pytest.mark.parametrize(
    ("key", "number", "unit", "spans"),
    [
        # North Carolina State Extension, county notes of May 2020: 65 F by 10 am at 3 in; no night below 50 F in two
        ("cotton_morning", 65, "F", {"depth_in": 3, "hour": 10}),
        ("cotton_nights", 50, "F", {"days_ahead": 1}),
        # the same, April 2018: five-day DD60 of 16 to 25 is adequate, below it marginal
        ("cotton_heat", 16, "DD60", {"days_ahead": 4}),
        # University of Georgia Extension, county notes of April 2023: 50 DD60 in five days
        ("cotton_vigor", 50, "DD60", {"days_ahead": 4}),
        # both, read in notes: no digging within 72 hours of frost
        ("frost_ahead", 34, "F", {"hours_ahead": 72}),
        # Cotton Incorporated 2021, read in notes: picking below about 70 % humidity
        ("lint_damp", 70, "pct", {}),
        # common practice, no source: 3 to 10 mph, "the label wins"
        ("wind_least", 3, "mph", {}),
        ("wind_most", 10, "mph", {}),
    ],
)
def test_numbers_are_those_that_were_read(
    key: str, number: float, unit: str, spans: dict[str, float]
) -> None:
    found = next(limit for limit in load_limits() if limit.key == key)
    assert (found.number, found.unit) == (number, unit)
    assert {name: getattr(found, name) for name in spans} == spans


def test_what_a_label_says_names_the_label() -> None:
    for limit in load_limits():
        if limit.kind is LimitKind.DRIFT or limit.key in ("wash_off", "re_entry", "plant_back"):
            assert "label" in limit.says_en
            assert "etiqueta" in limit.says_es


def test_re_entry_holds_for_every_kind_of_work_and_daylight_never_for_tillage() -> None:
    (re_entry,) = [limit for limit in load_limits() if limit.quantity is Quantity.RE_ENTRY]
    assert re_entry.operations == set(Operation)
    assert (re_entry.kind, re_entry.crop, re_entry.land) == (LimitKind.LABEL, "", "")


def test_daylight_is_no_limit_of_tillage_or_planting() -> None:
    # lights at night are normal; sprayers and people on foot want to see (trade practice)
    gated = {
        operation
        for limit in load_limits()
        if limit.quantity is Quantity.DAYLIGHT
        for operation in limit.operations
    }
    assert gated == {*SPRAYING, Operation.DEBRIS_WALK}


def test_the_share_from_which_an_hour_counts_is_data(tmp_path: Path) -> None:
    certainty = row(
        key="sure", quantity="member_share", comparison=">=", number="0.8", unit="share", kind="certainty"
    )
    limits = load_limits(write(tmp_path, certainty))
    assert needed_share(limits) == 0.8
    assert needed_share(()) == 0.5


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"operations": "dsik"}, "line 2: operations names 'dsik'"),
        ({"crop": "kale"}, "line 2: crop is 'kale'"),
        ({"quantity": "mood"}, "line 2: quantity is 'mood'"),
        ({"comparison": "<"}, "line 2: comparison is '<'"),
        ({"number": "wet"}, "line 2: number is 'wet', not a number"),
        ({"number": "nan"}, "line 2: number is 'nan', not a number"),
        ({"unit": "F"}, "line 2: unit is 'F'"),
        ({"kind": "mud"}, "line 2: kind is 'mud'"),
        ({"effect": "maybe"}, "line 2: effect is 'maybe'"),
        ({"days_ahead": "-1"}, "line 2: days_ahead is '-1'"),
        ({"source": ""}, "line 2: source is empty"),
        ({"says_en": "wet {valeu}"}, "line 2: says_en asks for valeu"),
        ({"says_es": "mojado {value"}, "line 2: says_es has a brace"),
        ({"quantity": "soil_mean", "unit": "F", "number": "60"}, "line 2: days_back must be at least 1"),
        (
            {"quantity": "soil_mean", "unit": "F", "number": "60", "days_back": "1"},
            "line 2: depth_in must be",
        ),
        ({"quantity": "rain_ahead", "unit": "in"}, "line 2: hours_ahead must be at least 1"),
        ({"quantity": "rain_behind", "unit": "in"}, "line 2: hours_back must be at least 1"),
        ({"hour": "10"}, "line 2: hour goes with soil_hour"),
        (
            {
                "quantity": "soil_hour",
                "unit": "F",
                "number": "60",
                "days_back": "1",
                "depth_in": "3",
                "hour": "24",
            },
            "line 2: hour is 24",
        ),
        ({"number": "2.5"}, "line 2: number is 2.5; topsoil is told from 0 to 2"),
        ({"land": "swamp"}, "line 2: land is 'swamp'"),
        ({"use": "maybe"}, "line 2: use is 'maybe'"),
        ({"kind": "label", "use": "off"}, "line 2: kind label is on and shuts"),
        ({"kind": "label", "effect": "advice"}, "line 2: kind label is on and shuts"),
    ],
)
def test_a_bad_cell_is_named_by_file_line_and_column(
    tmp_path: Path, changes: dict[str, str], says: str
) -> None:
    with pytest.raises(LimitsError) as refused:
        load_limits(write(tmp_path, row(**changes)))
    assert f"limits.csv, {says}" in str(refused.value)


def test_a_short_line_is_refused(tmp_path: Path) -> None:
    with pytest.raises(LimitsError, match="line 2: there must be 20 values"):
        load_limits(write(tmp_path, "wet,disk"))


def test_a_key_that_stands_twice_is_refused(tmp_path: Path) -> None:
    with pytest.raises(LimitsError, match="line 3: key: 'wet' stands twice"):
        load_limits(write(tmp_path, GOOD, GOOD))


def test_a_strange_header_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "limits.csv"
    path.write_text("a,b\n", encoding="utf-8")
    with pytest.raises(LimitsError, match="line 1: the columns must be key,operations"):
        load_limits(path)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(LimitsError, match=r"nowhere\.csv"):
        load_limits(tmp_path / "nowhere.csv")


def test_the_shipped_file_is_where_the_code_looks() -> None:
    assert SHIPPED.is_file()
