"""Which limits hold on a field: the field's choice before the farm's, that before what ships; and records that stop work."""

import datetime as dt
import uuid
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core.models import User
from farmops.farms.models import Farm, Field
from scheduling.models import FieldPass, LimitChoice, PivotPlace, Spraying, WorkRecord
from scheduling.selectors.limits import limits_of
from scheduling.selectors.passes import open_passes
from scheduling.selectors.windows import pass_windows
from scheduling.services.limit_choices import choose_limit
from scheduling.services.say_so import say_so
from scheduling.windows import WindowsReport
from scheduling.windows.limits import Effect
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season
from tests.scheduling.ground import make_pivot
from tests.scheduling.windows.makers import make_days
from tests.scheduling.windows.scene import chance_at, shut_by

pytestmark = pytest.mark.django_db

NEW_YORK = ZoneInfo("America/New_York")
MONDAY, SUNDAY = dt.date(2026, 4, 20), dt.date(2026, 4, 19)
MIDNIGHT = dt.datetime(2026, 4, 20, tzinfo=NEW_YORK)
DAY = 1440


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_days(farm, first=dt.date(2026, 1, 1), last=SUNDAY, rain_mm={dt.date(2026, 4, 16): 25.0})
    return farm


@pytest.fixture
def field(farm: Farm) -> Field:
    return make_field(farm)


def choose(
    farm: Farm, key: str, *, field: Field | None = None, hour: int = 8, **chosen: object
) -> LimitChoice:
    return choose_limit(
        farm=farm,
        field=field,
        key=key,
        source="farm judgement",
        set_by=None,
        now=dt.datetime(2026, 4, 1, hour, tzinfo=dt.UTC),
        **chosen,  # type: ignore[arg-type]
    )


def spray(
    field: Field, ended_at: dt.datetime, *, reentry_h: str = "24", plant_back_days: int | None = None
) -> Spraying:
    return Spraying.objects.create(
        farm=field.farm,
        client_id=uuid.uuid4(),
        field=field,
        ended_at=ended_at,
        products="herbicide A",
        reentry_h=Decimal(reentry_h),
        plant_back_days=plant_back_days,
        recorded_at=ended_at,
    )


def report_of(farm: Farm) -> WindowsReport:
    return pass_windows(
        farm=farm, passes=list(open_passes(farm=farm)), starts_at=MIDNIGHT, days=3, as_of=SUNDAY
    )


def number(farm: Farm, field: Field, key: str) -> float:
    return next(one.number for one in limits_of(farm=farm).of(field.pk) if one.key == key)


def test_the_fields_choice_goes_before_the_farms_and_that_before_what_ships(farm: Farm, field: Field) -> None:
    other = make_field(farm, "low-80")
    assert number(farm, field, "wind_most") == 10
    choose(farm, "wind_most", number=8.0)
    assert (number(farm, field, "wind_most"), number(farm, other, "wind_most")) == (8, 8)
    choose(farm, "wind_most", field=field, number=6.0)
    assert (number(farm, field, "wind_most"), number(farm, other, "wind_most")) == (6, 8)


def test_the_newest_choice_counts_and_an_empty_one_goes_back(farm: Farm, field: Field) -> None:
    choose(farm, "wind_most", number=8.0, hour=8)
    choose(farm, "wind_most", number=7.0, hour=10)
    choose(farm, "wind_most", number=9.0, hour=9)
    assert number(farm, field, "wind_most") == 7
    choose(farm, "wind_most", hour=11)
    assert number(farm, field, "wind_most") == 10
    assert limits_of(farm=farm).choices == ()


def test_a_field_that_goes_back_follows_the_farms_choice_again(farm: Farm, field: Field) -> None:
    choose(farm, "wind_most", number=8.0)
    choose(farm, "wind_most", field=field, number=6.0, hour=9)
    choose(farm, "wind_most", field=field, hour=10)
    assert number(farm, field, "wind_most") == 8


def test_another_farms_choice_says_nothing_here(farm: Farm, field: Field) -> None:
    choose(make_farm("cane-brake"), "wind_most", number=5.0)
    assert number(farm, field, "wind_most") == 10


def test_a_choice_whose_limit_is_gone_is_told_in_the_notes(farm: Farm, field: Field) -> None:
    make_pass(make_season(field), "disk")
    LimitChoice.objects.create(farm=farm, key="gone", number=1.0, source="x", set_at=MIDNIGHT)
    assert any("'gone': there is no such limit" in note for note in report_of(farm).notes)


def test_a_choice_changes_the_windows_and_the_report_tells_which_ruled(farm: Farm, field: Field) -> None:
    make_pass(make_season(field), "disk")
    other = make_field(farm, "low-80")
    make_pass(make_season(other), "disk")
    assert report_of(farm).of("pond-40/disk").shut == ()
    choose(farm, "sticks", number=0.3)
    rosa = User.objects.create_user("rosa")
    LimitChoice.objects.create(
        farm=farm,
        field=other,
        key="sticks",
        is_used=False,
        source="tile drains",
        set_by=rosa,
        set_at=MIDNIGHT,
    )
    report = report_of(farm)
    assert shut_by(report.of("pond-40/disk"), 0) == "sticks"
    assert report.of("low-80/disk").shut == ()
    ruled = report.choice_of("low-80", "sticks")
    assert ruled is not None
    assert (ruled.source, ruled.set_by, ruled.is_used) == ("tile drains", "rosa", False)
    of_farm = report.choice_of("pond-40", "sticks")
    assert of_farm is not None
    assert (of_farm.field, of_farm.number) == ("", 0.3)
    assert report.choice_of("pond-40", "smears") is None
    told = report.to_json()["choices"]
    assert {(one["limit"], one["field"], one["set_by"]) for one in told} == {
        ("sticks", "", ""),
        ("sticks", "low-80", "rosa"),
    }


def test_advice_by_choice_speaks_and_shuts_nothing(farm: Farm, field: Field) -> None:
    make_pass(make_season(field), "disk")
    choose(farm, "sticks", number=0.3, effect=Effect.ADVICE.value)
    windows = report_of(farm).of("pond-40/disk")
    assert windows.shut == ()
    assert {one.limit for one in windows.advice} == {"sticks"}


@pytest.mark.parametrize("operation", ["disk", "spray", "pivot_walk", "irrigate", "debris_walk"])
def test_nobody_enters_a_sprayed_field_before_the_labels_hours_are_over(
    farm: Farm, field: Field, operation: str
) -> None:
    make_pivot(field)
    make_pass(make_season(field), operation)
    spray(field, MIDNIGHT - dt.timedelta(hours=4), reentry_h="24")
    say_so(farm=farm, field=field, day=MONDAY, word="fit", said_by=None, now=MIDNIGHT)
    windows = report_of(farm).of(f"pond-40/{operation}")
    assert {shut_by(windows, minute) for minute in (0, 600, 20 * 60 - 1)} == {"re_entry"}
    assert shut_by(windows, 20 * 60) != "re_entry"


def test_a_field_sprayed_without_a_label_on_record_is_told(farm: Farm, field: Field) -> None:
    sprayed = make_pass(make_season(field), "spray")
    make_pass(sprayed.season, "disk")
    WorkRecord.objects.create(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=sprayed,
        hand=make_hand(farm, operations=("spray",)),
        work_on=SUNDAY,
        hand_min=60,
        is_finished=True,
        recorded_at=MIDNIGHT,
    )
    told = [note for note in report_of(farm).notes if "read the label" in note]
    assert told == [
        "Pond 40 was sprayed on 2026-04-19 and no label's re-entry hours are kept: read the label before anybody goes in."
    ]
    spray(field, MIDNIGHT - dt.timedelta(hours=6))
    assert not any("read the label" in note for note in report_of(farm).notes)


def test_planting_waits_for_the_labels_days(farm: Farm, field: Field) -> None:
    make_pass(make_season(field), "plant")
    make_pass(make_season(make_field(farm, "low-80")), "plant")
    spray(field, MIDNIGHT - dt.timedelta(days=300), reentry_h="4", plant_back_days=301)
    report = report_of(farm)
    assert shut_by(report.of("pond-40/plant"), DAY - 1) == "plant_back"
    assert shut_by(report.of("pond-40/plant"), DAY + 60) != "plant_back"
    assert shut_by(report.of("low-80/plant"), 60) != "plant_back"


def test_a_pivot_seen_running_keeps_the_disk_out_until_it_is_seen_parked(farm: Farm, field: Field) -> None:
    pivot = make_pivot(field)
    make_pass(make_season(field), "disk")

    def seen(hours_before: int, *, is_running: bool, angle_deg: str) -> None:
        PivotPlace.objects.create(
            farm=farm,
            client_id=uuid.uuid4(),
            pivot=pivot,
            seen_at=MIDNIGHT - dt.timedelta(hours=hours_before),
            is_running=is_running,
            angle_deg=Decimal(angle_deg),
            recorded_at=MIDNIGHT,
        )

    seen(6, is_running=True, angle_deg="10")
    windows = report_of(farm).of("pond-40/disk")
    assert [(one.limit, one.from_min, one.to_min) for one in windows.shut] == [("pivot_runs", 0, 18 * 60)]
    seen(3, is_running=False, angle_deg="10")
    windows = report_of(farm).of("pond-40/disk")
    assert windows.shut == ()
    assert {one.limit for one in windows.advice} == {"pivot_in_way"}
    seen(1, is_running=False, angle_deg="90")
    assert report_of(farm).of("pond-40/disk").advice == ()


def test_dry_land_waits_for_rain_and_pivot_land_is_told_to_water(farm: Farm, field: Field) -> None:
    make_pivot(field)
    make_pass(make_season(field, crop="corn"), "plant")
    make_pass(make_season(make_field(farm, "dry-80"), crop="corn"), "plant")
    make_days(farm, first=MONDAY, last=MONDAY + dt.timedelta(days=27))

    def later_on() -> WindowsReport:
        return pass_windows(
            farm=farm,
            passes=list(open_passes(farm=farm)),
            starts_at=MIDNIGHT + dt.timedelta(days=20),
            days=2,
            as_of=SUNDAY + dt.timedelta(days=20),
        )

    later = later_on()
    assert shut_by(later.of("dry-80/plant"), 600) == "dry_seedbed"
    assert chance_at(later.of("pond-40/plant"), 600) == 1.0
    assert "water_first" in {one.limit for one in later.of("pond-40/plant").advice}
    say_so(
        farm=farm,
        field=Field.objects.get(code="dry-80"),
        day=MONDAY + dt.timedelta(days=20),
        word="fit",
        said_by=None,
        now=MIDNIGHT + dt.timedelta(days=20),
    )
    assert chance_at(later_on().of("dry-80/plant"), 600) == 1.0


def test_records_and_choices_of_more_fields_take_no_more_queries(farm: Farm, field: Field) -> None:
    def add(one: Field) -> FieldPass:
        make_pivot(one)
        spray(one, MIDNIGHT - dt.timedelta(hours=1))
        choose(farm, "sticks", field=one, number=0.9)
        return make_pass(make_season(one), "disk")

    def count() -> int:
        passes = list(open_passes(farm=farm))
        with CaptureQueriesContext(connection) as queries:
            pass_windows(farm=farm, passes=passes, starts_at=MIDNIGHT, days=2, as_of=SUNDAY)
        return len(queries)

    add(field)
    before = count()
    for place in range(4):
        add(make_field(farm, f"more-{place}"))
    assert count() == before
