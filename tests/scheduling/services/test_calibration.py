"""Fitting zones' limits to remarks in the database, by service and by command."""

import datetime as dt
import uuid
from io import StringIO
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import time_machine
from django.core.management import CommandError, call_command

from farmops.core.models import User
from farmops.farms.models import Farm, Field, SoilZone
from scheduling.models import Remark, ZoneLimitChange
from scheduling.selectors.ground import farm_ground
from scheduling.services.calibration import NothingSaid, apply_calibration, calibrate
from scheduling.services.record_rules import NotThisFarm
from scheduling.services.remarks import record_remark
from tests.factories import make_farm, make_field
from tests.scheduling.windows.makers import make_days

pytestmark = pytest.mark.django_db

NEW_YORK = ZoneInfo("America/New_York")
FIRST = dt.date(2026, 4, 10)
TODAY = dt.date(2026, 4, 24)
NOW = dt.datetime(2026, 4, 24, 18, tzinfo=NEW_YORK)


@pytest.fixture
def farm() -> Farm:
    """A farm whose fields dry for two weeks after rain."""
    farm = make_farm()
    rain = {dt.date(2026, 4, 8): 30.0, dt.date(2026, 4, 9): 30.0}
    make_days(farm, first=dt.date(2026, 1, 1), last=TODAY, rain_mm=rain)
    return farm


def at(day: int, hour: int = 12) -> dt.datetime:
    return dt.datetime(2026, 4, day, hour, tzinfo=NEW_YORK)


def say(
    field: Field, day: int, what: str, *, zone: SoilZone | None = None, operation: str = "disk"
) -> Remark:
    remark, _ = record_remark(
        farm=field.farm,
        client_id=uuid.uuid4(),
        field=field,
        zone=zone,
        said_at=at(day),
        what=what,
        operation=operation,
        said_by=None,
        now=NOW,
    )
    return remark


def modeled(field: Field, day: int) -> float:
    """Return the model's topsoil at noon, without remarks."""
    on = dt.date(2026, 4, day)
    worked_out = farm_ground(
        farm=field.farm, first=on, last=on, as_of=TODAY, fields=[field], with_remarks=False
    )
    return float(np.median(worked_out.ground.topsoil_m3_m3[11, 0]))


def told(*arguments: str) -> str:
    out = StringIO()
    with time_machine.travel(NOW, tick=False):
        call_command("calibrate", *arguments, stdout=out)
    return out.getvalue()


def test_too_wet_on_ground_the_model_calls_fit_lowers_the_zones_limit(farm: Farm) -> None:
    field = make_field(farm)
    for day, what in ((11, "too_wet"), (12, "too_wet"), (13, "fits"), (14, "fits")):
        say(field, day, what)
    before = modeled(field, 13)
    (found,) = calibrate(farm=farm, as_of=TODAY)
    assert found.fit.wet.remarks == 4
    assert found.fit.wet.agrees_after == 4 > found.fit.wet.agrees_before
    assert modeled(field, 13) == before < found.fit.wet.after_m3_m3 < modeled(field, 12)
    assert not ZoneLimitChange.objects.exists()
    zone = field.zones.get()
    assert (zone.workable_m3_m3, zone.dry_m3_m3) == (None, None)


def test_what_is_applied_is_the_zones_with_who_when_and_how_many(farm: Farm) -> None:
    field = make_field(farm)
    for day, what in ((11, "too_wet"), (12, "too_wet"), (13, "fits")):
        say(field, day, what)
    rosa = User.objects.create_user("rosa")
    found = calibrate(farm=farm, as_of=TODAY)
    (change,) = apply_calibration(farm=farm, calibrations=found, set_by=rosa, set_by_name="rosa", now=NOW)
    zone = field.zones.get()
    assert zone.workable_m3_m3 == change.workable_m3_m3 == found[0].fit.wet.after_m3_m3
    assert zone.dry_m3_m3 is None
    assert (change.zone, change.set_by, change.set_at, change.remark_count) == (zone, rosa, NOW, 3)
    ground = farm_ground(farm=farm, first=TODAY, last=TODAY, as_of=TODAY).ground
    assert ground.zones[0].workable_below_m3_m3 == zone.workable_m3_m3
    again = calibrate(farm=farm, as_of=TODAY)
    assert not again[0].fit.wet.is_moved
    assert apply_calibration(farm=farm, calibrations=again, set_by=rosa, set_by_name="rosa", now=NOW) == []


def test_a_word_on_a_whole_field_of_two_zones_places_only_what_fits(farm: Farm) -> None:
    field = make_field(farm)
    SoilZone.objects.filter(field=field).update(share_pct=60)
    low = SoilZone.objects.create(farm=farm, field=field, name="low end", texture="clay_loam", share_pct=40)
    say(field, 12, "too_wet")
    say(field, 14, "fits")
    say(field, 13, "too_wet", zone=low)
    found = {one.zone.name: one for one in calibrate(farm=farm, as_of=TODAY)}
    assert {name: (one.fit.wet.remarks, one.unplaced) for name, one in found.items()} == {
        "all": (1, 1),
        "low end": (2, 1),
    }


def test_a_word_taken_back_counts_no_more(farm: Farm) -> None:
    field = make_field(farm)
    remark = say(field, 12, "too_wet")
    say(field, 13, "fits")
    record_remark(
        farm=farm,
        client_id=uuid.uuid4(),
        field=field,
        said_at=remark.said_at,
        what="too_wet",
        operation="disk",
        is_taken_back=True,
        supersedes=remark,
        said_by=None,
        now=NOW,
    )
    (found,) = calibrate(farm=farm, as_of=TODAY)
    assert found.fit.wet.remarks == 1


def test_nothing_said_and_another_farms_field_are_refused(farm: Farm) -> None:
    make_field(farm)
    with pytest.raises(NothingSaid, match="Nobody has said"):
        calibrate(farm=farm, as_of=TODAY)
    with pytest.raises(NotThisFarm):
        calibrate(farm=farm, field=make_field(make_farm("cane-brake")), as_of=TODAY)


def test_the_command_prints_before_and_after_and_writes_nothing(farm: Farm) -> None:
    field = make_field(farm)
    for day, what in ((11, "too_wet"), (12, "too_wet"), (13, "fits")):
        say(field, day, what)
    text = told("--farm", farm.code)
    head, wet, dry, *_ = text.splitlines()
    assert head.split() == ["field", "zone", "limit", "before", "agrees", "after", "agrees", "remarks"]
    assert wet.split()[:4] == ["pond-40", "all", "wet", "0.218"]  # 0.95 of a sandy loam's 0.23
    assert wet.split()[4:] == ["2", wet.split()[5], "3", "3"]
    assert dry.split()[2:] == ["dry", "0.097", "3", "0.097", "3", "3", "stays"]
    assert "Nothing was changed" in text
    assert not ZoneLimitChange.objects.exists()


def test_the_command_applies_once_and_names_who(farm: Farm) -> None:
    field = make_field(farm)
    for day, what in ((11, "too_wet"), (12, "too_wet"), (13, "fits")):
        say(field, day, what)
    User.objects.create_user("rosa")
    assert "1 zone has new limits." in told(
        "--farm", farm.code, "--field", field.code, "--apply", "--by", "rosa"
    )
    assert "0 zones have new limits." in told("--farm", farm.code, "--apply", "--by", "rosa")
    (change,) = ZoneLimitChange.objects.all()
    assert (change.set_by_name, change.set_at) == ("rosa", NOW)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--farm", "nowhere"), "No farm has the code 'nowhere'"),
        (("--farm", "heron-slough", "--field", "x"), "has no field 'x'. Known fields: pond-40"),
        (("--farm", "heron-slough"), "Nobody has said of Heron Slough"),
    ],
)
def test_the_command_refuses_with_a_sentence(farm: Farm, arguments: tuple[str, ...], says: str) -> None:
    make_field(farm)
    with pytest.raises(CommandError, match=says):
        told(*arguments)


def test_nobody_is_made_to_answer_who_does_not_exist(farm: Farm) -> None:
    field = make_field(farm)
    for day in (11, 12, 13):
        say(field, day, "too_wet")
    with pytest.raises(CommandError, match="nobody of that name"):
        told("--farm", farm.code, "--apply", "--by", "ghost")
    assert not ZoneLimitChange.objects.exists()
