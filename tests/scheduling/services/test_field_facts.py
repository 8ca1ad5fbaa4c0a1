"""Remarks, water, sprayings and pivot places: kept once, corrected by a newer row, refused with a sentence."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from farmops.core.appendonly import AppendOnlyRefused
from farmops.core.keeping import ClientIdReused
from farmops.farms.models import Farm, Field, SoilZone
from scheduling.models import PivotPlace, Remark, Spraying, Watering
from scheduling.services.pivot_places import record_pivot_place
from scheduling.services.refusals import BadRecord, NotThisFarm, SupersededAlready
from scheduling.services.remarks import record_remark
from scheduling.services.sprayings import record_spraying
from scheduling.services.waterings import record_watering
from scheduling.services.work import record_work
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season
from tests.scheduling.facts import DAY, MORNING, NOW, make_watered_field, sent_by

pytestmark = pytest.mark.django_db
Facts = dict[str, Any]
Keep = Callable[..., tuple[Any, bool]]


@pytest.fixture
def field() -> Field:
    return make_watered_field()


@pytest.fixture
def farm(field: Field) -> Farm:
    return field.farm


@pytest.fixture
def remark(farm: Farm, field: Field) -> Facts:
    return sent_by(1, farm=farm, field=field, said_at=MORNING, what="too_wet", operation="disk", said_by=None)


@pytest.fixture
def water(farm: Farm, field: Field) -> Facts:
    return sent_by(2, farm=farm, field=field, water_on=DAY, depth_in=Decimal("0.75"), recorded_by=None)


@pytest.fixture
def spraying(farm: Farm, field: Field) -> Facts:
    return sent_by(
        3,
        farm=farm,
        field=field,
        ended_at=MORNING,
        operation="burndown",
        products="field herbicide A, oil",
        reentry_h=Decimal(48),
        plant_back_days=14,
        wind_mph=Decimal("5.5"),
        recorded_by=None,
    )


@pytest.fixture
def place(farm: Farm, field: Field) -> Facts:
    return sent_by(
        4,
        farm=farm,
        pivot=field.pivot,
        seen_at=MORNING,
        is_running=False,
        angle_deg=Decimal("45.5"),
        recorded_by=None,
    )


KINDS: list[tuple[Keep, str, type[Any], Facts]] = [
    (record_remark, "remark", Remark, {"what": "too_dry"}),
    (record_watering, "water", Watering, {"depth_in": Decimal("0.80")}),
    (record_spraying, "spraying", Spraying, {"reentry_h": Decimal(24)}),
    (record_pivot_place, "place", PivotPlace, {"angle_deg": Decimal(46)}),
]


@pytest.mark.parametrize(("keep", "name", "model", "other"), KINDS)
def test_the_same_row_sent_again_is_the_same_row_and_another_one_is_refused(
    keep: Keep, name: str, model: type[Any], other: Facts, request: pytest.FixtureRequest
) -> None:
    facts = request.getfixturevalue(name)
    row, is_new = keep(**facts)
    again, is_new_again = keep(**{**facts, "now": NOW + dt.timedelta(hours=1)})
    assert (is_new, is_new_again) == (True, False)
    assert again.pk == row.pk
    with pytest.raises(ClientIdReused):
        keep(**{**facts, **other})
    assert model.objects.count() == 1


@pytest.mark.parametrize(("keep", "name", "model", "other"), KINDS)
def test_rows_are_never_changed(
    keep: Keep, name: str, model: type[Any], other: Facts, request: pytest.FixtureRequest
) -> None:
    row, _ = keep(**request.getfixturevalue(name))
    with pytest.raises(AppendOnlyRefused):
        row.save()
    with pytest.raises(AppendOnlyRefused):
        model.objects.all().delete()


@pytest.mark.parametrize(("keep", "name", "model", "other"), KINDS[:3])
def test_a_correction_stands_in_the_place_of_one_row_once(
    keep: Keep, name: str, model: type[Any], other: Facts, request: pytest.FixtureRequest
) -> None:
    facts = request.getfixturevalue(name)
    first, _ = keep(**facts)
    second, _ = keep(**{**facts, **other, **sent_by(11), "supersedes": first})
    assert list(model.objects.filter(superseded_by__isnull=True)) == [second]
    with pytest.raises(SupersededAlready, match="correct the newer one"):
        keep(**{**facts, **sent_by(12), "supersedes": first})
    gone, _ = keep(**{**facts, **other, **sent_by(13), "supersedes": second, "is_taken_back": True})
    with pytest.raises(SupersededAlready, match="took another back"):
        keep(**{**facts, **sent_by(14), "supersedes": gone})


@pytest.mark.parametrize(("keep", "name", "model", "other"), KINDS[:3])
def test_only_what_was_kept_can_be_taken_back(
    keep: Keep, name: str, model: type[Any], other: Facts, request: pytest.FixtureRequest
) -> None:
    with pytest.raises(BadRecord, match="Name the row that is taken back"):
        keep(**{**request.getfixturevalue(name), "is_taken_back": True})
    assert not model.objects.exists()


@pytest.mark.parametrize(("keep", "name", "model", "other"), KINDS)
def test_another_farms_ground_is_refused(
    keep: Keep, name: str, model: type[Any], other: Facts, request: pytest.FixtureRequest
) -> None:
    theirs = make_watered_field(make_farm("other-bend"))
    at = {"pivot": theirs.pivot} if name == "place" else {"field": theirs}
    with pytest.raises(NotThisFarm):
        keep(**{**request.getfixturevalue(name), **at})
    assert not model.objects.exists()


TOMORROW = NOW + dt.timedelta(days=1)
OLD = dt.datetime(1926, 6, 15, 7, tzinfo=dt.UTC)
REFUSED: list[tuple[Keep, str, Facts, str, str]] = [
    (record_remark, "remark", {"what": "muddy"}, "what", "it is one of too_wet, too_dry, fits"),
    (record_remark, "remark", {"operation": "irrigate"}, "operation", "work on the ground"),
    (record_remark, "remark", {"operation": "hoe"}, "operation", "work on the ground"),
    (record_remark, "remark", {"said_at": TOMORROW}, "said_at", "2026-06-16 at that hour has not come"),
    (record_remark, "remark", {"said_at": OLD}, "said_at", "is the year right"),
    (record_remark, "remark", {"note": "x" * 5001}, "note", "at most 5000"),
    (record_remark, "remark", {"note": "a\0b"}, "note", "cannot be kept"),
    (
        record_watering,
        "water",
        {"depth_in": Decimal("4.01")},
        "depth_in",
        "depth_in is 4.01; it is 0.01 to 4",
    ),
    (record_watering, "water", {"depth_in": Decimal(0)}, "depth_in", "it is 0.01 to 4"),
    (record_watering, "water", {"depth_in": Decimal("-1")}, "depth_in", "it is 0.01 to 4"),
    (record_watering, "water", {"depth_in": Decimal("nan")}, "depth_in", "it is 0.01 to 4"),
    (record_watering, "water", {"depth_in": Decimal("0.755")}, "depth_in", "at most 2 decimals"),
    (record_watering, "water", {"water_on": DAY + dt.timedelta(days=1)}, "water_on", "has not come yet"),
    (record_watering, "water", {"water_on": dt.date(1926, 6, 1)}, "water_on", "is the year right"),
    (record_spraying, "spraying", {"operation": "disk"}, "operation", "'disk' sprays nothing"),
    (record_spraying, "spraying", {"products": " "}, "products", "something must stand there"),
    (record_spraying, "spraying", {"products": "x" * 301}, "products", "at most 300"),
    (record_spraying, "spraying", {"reentry_h": Decimal(721)}, "reentry_h", "it is 0 to 720"),
    (record_spraying, "spraying", {"reentry_h": Decimal("-0.5")}, "reentry_h", "it is 0 to 720"),
    (record_spraying, "spraying", {"plant_back_days": 1461}, "plant_back_days", "it is 0 to 1460"),
    (record_spraying, "spraying", {"plant_back_days": -1}, "plant_back_days", "it is 0 to 1460"),
    (record_spraying, "spraying", {"wind_mph": Decimal(61)}, "wind_mph", "it is 0 to 60"),
    (record_spraying, "spraying", {"ended_at": TOMORROW}, "ended_at", "has not come yet"),
    (record_pivot_place, "place", {"angle_deg": Decimal(360)}, "angle_deg", "it is 0 to 359.9"),
    (record_pivot_place, "place", {"angle_deg": Decimal("-0.1")}, "angle_deg", "it is 0 to 359.9"),
    (record_pivot_place, "place", {"angle_deg": Decimal("45.25")}, "angle_deg", "at most 1 decimal"),
    (record_pivot_place, "place", {"seen_at": TOMORROW}, "seen_at", "has not come yet"),
]


@pytest.mark.parametrize(("keep", "name", "wrong", "at", "says"), REFUSED)
def test_what_cannot_be_is_refused_by_its_name(
    keep: Keep, name: str, wrong: Facts, at: str, says: str, request: pytest.FixtureRequest
) -> None:
    with pytest.raises(BadRecord, match=says) as refused:
        keep(**{**request.getfixturevalue(name), **wrong})
    assert at in (refused.value.fields or {})


def test_a_zone_and_a_work_record_belong_to_the_field(farm: Farm, field: Field, remark: Facts) -> None:
    other = make_field(farm, "river-60")
    record, _ = record_work(
        **sent_by(30),
        farm=farm,
        field_pass=make_pass(make_season(other)),
        hand=make_hand(farm),
        work_on=DAY,
        hand_min=60,
        done_ac=Decimal(5),
        is_finished=False,
        recorded_by=None,
    )
    with pytest.raises(BadRecord, match="has no zone"):
        record_remark(**{**remark, "zone": other.zones.get()})
    with pytest.raises(BadRecord, match="is not of the field"):
        record_remark(**{**remark, "work_record": record})
    kept, _ = record_remark(**{**remark, "field": other, "zone": other.zones.get(), "work_record": record})
    assert isinstance(kept.zone, SoilZone)
    assert kept.work_record == record


def test_the_water_of_a_day_adds_up_to_no_flood(water: Facts) -> None:
    record_watering(**{**water, "depth_in": Decimal(3)})
    with pytest.raises(BadRecord, match=r"4.50 in of water on 2026-06-15; at most 4"):
        record_watering(**{**water, **sent_by(20), "depth_in": Decimal("1.50")})
    row, _ = record_watering(**{**water, **sent_by(21), "depth_in": Decimal(1)})
    record_watering(**{**water, **sent_by(22), "depth_in": Decimal("0.5"), "supersedes": row})
    record_watering(**{**water, **sent_by(23), "depth_in": Decimal("0.5")})


def test_hours_may_differ_between_two_clocks_by_a_little(place: Facts) -> None:
    row, is_new = record_pivot_place(**{**place, "seen_at": NOW + dt.timedelta(minutes=59)})
    assert is_new
    with pytest.raises(BadRecord):
        record_pivot_place(**{**place, **sent_by(24), "seen_at": NOW + dt.timedelta(minutes=61)})
    assert row.seen_at > NOW
