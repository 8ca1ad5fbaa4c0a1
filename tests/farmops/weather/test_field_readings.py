"""Readings at fields are kept once, as they were read, or refused with a sentence."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from farmops.core.appendonly import AppendOnlyRefused
from farmops.core.keeping import ClientIdReused
from farmops.farms.models import Farm, Field
from farmops.weather.models import GaugeReading, SoilReading
from farmops.weather.services.field_readings import ReadingRefused, record_gauge, record_soil_reading
from tests.factories import make_farm, make_field
from tests.farmops.weather.makers import make_days, make_station

pytestmark = pytest.mark.django_db

ID = uuid.UUID("6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11")
TODAY = dt.date(2026, 4, 20)
NOW = dt.datetime(2026, 4, 21, 1, tzinfo=dt.UTC)  # 9 pm of the 20th on the farm's clock


@pytest.fixture
def farm() -> Farm:
    return make_farm()


@pytest.fixture
def field(farm: Farm) -> Field:
    return make_field(farm)


def gauge(field: Field, **facts: Any) -> tuple[GaugeReading, bool]:
    plain: dict[str, Any] = {
        "farm": field.farm,
        "day": TODAY,
        "rain_in": Decimal("0.4"),
        "client_id": ID,
        "recorded_by": None,
        "now": NOW,
    }
    return record_gauge(field=field, **{**plain, **facts})


def thermometer(field: Field, **facts: Any) -> tuple[SoilReading, bool]:
    plain: dict[str, Any] = {
        "farm": field.farm,
        "read_at": NOW - dt.timedelta(hours=12),
        "depth_in": Decimal(4),
        "temp_f": Decimal("64.5"),
        "client_id": ID,
        "recorded_by": None,
        "now": NOW,
    }
    return record_soil_reading(field=field, **{**plain, **facts})


@pytest.mark.parametrize(
    ("record", "other"), [(gauge, {"rain_in": Decimal("0.41")}), (thermometer, {"temp_f": Decimal("64.6")})]
)
def test_the_same_reading_again_is_the_same_row_and_the_same_id_with_another_is_refused(
    field: Field, record: Any, other: dict[str, Any]
) -> None:
    row, is_new = record(field)
    again, is_new_again = record(field, now=NOW + dt.timedelta(hours=3))
    assert (is_new, is_new_again, again.pk) == (True, False, row.pk)
    with pytest.raises(ClientIdReused, match=str(ID)):
        record(field, **other)
    assert type(row).objects.count() == 1


def test_a_reading_is_kept_to_the_hundredth_as_it_was_read(field: Field) -> None:
    row, _ = gauge(field, rain_in=Decimal("0"))
    row.refresh_from_db()
    assert (row.rain_in, row.day, row.recorded_at) == (Decimal("0.00"), TODAY, NOW)
    most, _ = gauge(field, rain_in=Decimal("19.99"), client_id=uuid.uuid4())
    assert most.rain_in == Decimal("19.99")


@pytest.mark.parametrize("record", [gauge, thermometer])
def test_readings_are_never_changed_nor_deleted(field: Field, record: Any) -> None:
    row, _ = record(field)
    for attempt in (row.save, row.delete):
        with pytest.raises(AppendOnlyRefused):
            attempt()
    table = row._meta.db_table
    for statement in (f"UPDATE {table} SET recorded_at = '2026-01-01'", f"DELETE FROM {table}"):
        with (
            pytest.raises(IntegrityError, match="append-only"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)


@pytest.mark.parametrize(
    ("facts", "says", "key"),
    [
        ({"rain_in": Decimal("-0.01")}, "-0.01 in of rain; rain cannot be negative", "rain_in"),
        (
            {"rain_in": Decimal("20")},
            "20 in of rain in a day; a gauge shows less than 20. Is it mm?",
            "rain_in",
        ),
        ({"rain_in": Decimal("0.125")}, "rain_in is 0.125; it has at most 2 decimals", "rain_in"),
        ({"rain_in": Decimal("NaN")}, "rain_in is NaN; it is no number", "rain_in"),
        ({"rain_in": Decimal("Infinity")}, "rain_in is Infinity; it is no number", "rain_in"),
        ({"day": dt.date(2026, 4, 21)}, "on 2026-04-21: this day has not come yet", "day"),
        ({"day": dt.date(1926, 4, 20)}, "on 1926-04-20: is the year right?", "day"),
    ],
)
def test_a_gauge_that_cannot_have_shown_this_is_refused_by_field_and_day(
    field: Field, facts: dict[str, Any], says: str, key: str
) -> None:
    with pytest.raises(ReadingRefused) as refusal:
        gauge(field, **facts)
    assert says in refusal.value.says
    assert refusal.value.says.startswith("Pond 40 on ")
    assert list(refusal.value.fields) == [key]
    assert GaugeReading.objects.count() == 0


@pytest.mark.parametrize(
    ("facts", "says", "key"),
    [
        ({"temp_f": Decimal("130")}, "130 °F in the ground; possible is 0 to less than 130", "temp_f"),
        ({"temp_f": Decimal("-0.1")}, "-0.1 °F in the ground; possible is 0", "temp_f"),
        ({"temp_f": Decimal("64.55")}, "temp_f is 64.55; it has at most 1 decimal", "temp_f"),
        ({"depth_in": Decimal("0")}, "0 in deep; it is more than 0 and at most 12", "depth_in"),
        ({"depth_in": Decimal("12.1")}, "12.1 in deep; it is more than 0 and at most 12", "depth_in"),
        ({"read_at": NOW + dt.timedelta(hours=2)}, "this hour has not come yet", "read_at"),
        ({"read_at": NOW.replace(year=1970)}, "is the year right?", "read_at"),
    ],
)
def test_a_thermometer_that_cannot_have_shown_this_is_refused(
    field: Field, facts: dict[str, Any], says: str, key: str
) -> None:
    with pytest.raises(ReadingRefused) as refusal:
        thermometer(field, **facts)
    assert says in refusal.value.says
    assert list(refusal.value.fields) == [key]
    assert SoilReading.objects.count() == 0


def test_ground_far_from_the_air_of_its_day_is_to_be_read_once_more(farm: Farm, field: Field) -> None:
    make_days(make_station(farm), TODAY - dt.timedelta(days=1), [{}, {}])  # 10 to 22 °C: 61 °F in the mean
    row, _ = thermometer(field, temp_f=Decimal("110"))
    assert row.temp_f == 110
    with pytest.raises(ReadingRefused) as refusal:
        thermometer(field, temp_f=Decimal("112"), client_id=uuid.uuid4())
    assert (
        refusal.value.says == "Pond 40 on 2026-04-20: 112 °F 4 in deep, while the air was 61 °F in the mean. "
        "Ground is not so far from it: read it once more."
    )


def test_frozen_ground_on_a_mild_day_is_taken_for_another_unit(farm: Farm, field: Field) -> None:
    row, _ = thermometer(field, temp_f=Decimal("18"))  # nobody knows the air of that day
    assert row.temp_f == 18
    make_days(
        make_station(farm), TODAY - dt.timedelta(days=1), [{"temp_min_c": -15.0, "temp_max_c": 1.0}, {}]
    )
    with pytest.raises(ReadingRefused) as refusal:
        thermometer(field, temp_f=Decimal("18"), client_id=uuid.uuid4())
    # The air was 10 to 22 °C: 61 °F in the mean.
    assert (
        refusal.value.says
        == "Pond 40 on 2026-04-20: 18 °F 4 in deep, while the air was 61 °F in the mean. Was it read in °C?"
    )
    cold, _ = thermometer(
        field, temp_f=Decimal("18"), read_at=NOW - dt.timedelta(hours=30), client_id=uuid.uuid4()
    )
    assert cold.temp_f == 18


def test_another_farms_field_and_another_fields_zone_are_refused(farm: Farm, field: Field) -> None:
    stranger = make_field(make_farm("another"))
    for record in (gauge, thermometer):
        with pytest.raises(ReadingRefused, match="Heron Slough has no field 'pond-40'"):
            record(stranger, farm=farm)
    zone = make_field(farm, "pine-20").zones.get()
    with pytest.raises(ReadingRefused, match="The field 'pond-40' has no zone 'all'"):
        thermometer(field, zone=zone)
