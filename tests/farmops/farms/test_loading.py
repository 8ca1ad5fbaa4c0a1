"""Loading a described farm: what is stored, that the second time changes nothing, and every refusal by its place."""

import datetime as dt
import json
from collections.abc import Callable
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.db import IntegrityError, models

from farmops.farms.models import (
    Farm,
    Field,
    Hand,
    HandSkill,
    Implement,
    Machine,
    Membership,
    Pivot,
    PumpShutHours,
    Season,
    Shift,
    SoilZone,
)
from farmops.farms.services.json_facts import BadFarmFile
from farmops.farms.services.loading import load_farm
from tests.factories import make_farm, make_field

Described = Callable[..., Path]
TABLES: list[type[models.Model]] = [
    Farm, Field, Hand, HandSkill, Implement, Machine, Membership, Pivot, PumpShutHours, Season, Shift, SoilZone,
]  # fmt: skip


def everything() -> dict[str, list[dict[str, Any]]]:
    return {model.__name__: list(model._default_manager.order_by("pk").values()) for model in TABLES}


@pytest.mark.django_db
def test_every_fact_of_the_files_is_stored(described: Described) -> None:
    report = load_farm(folder=described())
    farm = Farm.objects.get()
    assert report.farm == farm
    assert report.counts["fields"] == 1
    assert report.changed == 0
    assert (farm.zone, farm.latitude_deg, farm.sheet_at) == (
        "America/New_York",
        Decimal("31.6"),
        dt.time(5),
    )
    field = Field.objects.get()
    assert field.area_ac == pytest.approx(Decimal("40.46"), abs=Decimal("0.6"))
    assert (field.planted_ac, field.stated_ac) == (Decimal(39), Decimal("40.5"))
    ada = Hand.objects.get()
    assert ada.is_owner
    assert ada.language == "es"
    assert sorted(ada.skills.values_list("operation", flat=True)) == ["disk", "pivot_start", "pivot_stop"]
    assert list(ada.shifts.values_list("weekday", "starts_at", "is_overtime")) == [
        (0, dt.time(7), False),
        (0, dt.time(12, 30), False),
        (0, dt.time(18), True),
        (1, dt.time(7), False),
    ]
    assert ada.away.get().last_on == dt.date(2026, 4, 25)
    pivot = Pivot.objects.get()
    assert (pivot.field, pivot.pump.code, pivot.strip_width_ft) == (field, "well-1", Decimal(60))
    assert {zone.texture: zone.share_pct for zone in field.zones.all()} == {
        "loamy_sand": Decimal(60),
        "clay_loam": Decimal(40),
    }
    user = get_user_model().objects.get(username="ada")
    assert not user.has_usable_password()
    roles = {(m.role, m.hand) for m in Membership.objects.filter(user=user)}
    assert roles == {("manager", None), ("hand", ada)}


@pytest.mark.django_db
def test_loading_the_same_files_again_changes_nothing(described: Described) -> None:
    first = load_farm(folder=described())
    before = everything()
    again = load_farm(folder=described())
    assert first.added > 20
    assert (again.added, again.changed) == (0, 0)
    assert everything() == before


@pytest.mark.django_db
def test_a_corrected_fact_is_brought_in_and_rows_keep_their_identity(described: Described) -> None:
    load_farm(folder=described())
    identity = {model.__name__: model._default_manager.first().pk for model in (Farm, Field, Hand, Machine)}

    def correct(farm: dict[str, Any], fields: dict[str, Any]) -> None:
        farm["machines"][0]["name"] = "the green one"
        farm["hands"][0]["shifts"] = [{"days": ["wed"], "from": "06:00", "to": "11:00"}]
        farm["hands"][0]["may_do"] = ["disk", "plant"]

    report = load_farm(folder=described(correct))
    assert report.changed > 0
    assert Machine.objects.get().name == "the green one"
    assert list(Shift.objects.values_list("weekday", "starts_at")) == [(2, dt.time(6))]
    assert sorted(HandSkill.objects.values_list("operation", flat=True)) == ["disk", "plant"]
    for model in (Farm, Field, Hand, Machine):
        assert model._default_manager.get().pk == identity[model.__name__]


@pytest.mark.django_db
def test_a_row_that_the_files_no_longer_name_is_kept_and_named(described: Described) -> None:
    load_farm(folder=described())
    report = load_farm(folder=described(lambda farm, fields: farm["machines"].clear()))
    assert Machine.objects.count() == 1
    assert any("machine 'tractor 1' is not in the files" in warning for warning in report.warnings)


@pytest.mark.django_db
@pytest.mark.parametrize(("stated", "warned"), [(40.5, False), (42.0, False), (44.0, True), (37.0, True)])
def test_acres_that_differ_by_more_than_five_percent_are_a_warning_with_both_figures(
    described: Described, stated: float, warned: bool
) -> None:
    def state(farm: dict[str, Any], fields: dict[str, Any]) -> None:
        fields["features"][0]["properties"]["stated_ac"] = stated

    report = load_farm(folder=described(state))
    found = [w for w in report.warnings if "stated_ac" in w]
    assert bool(found) == warned
    if warned:
        assert f"{stated:.2f} ac" in found[0]
        assert f"{Field.objects.get().area_ac} ac" in found[0]
    assert Field.objects.get().stated_ac == Decimal(str(stated))


@pytest.mark.django_db
@pytest.mark.parametrize(("season_ac", "warned"), [(20, False), (42, False), (44, True)])
def test_a_season_larger_than_its_field_is_a_warning_with_both_figures(
    described: Described, season_ac: int, warned: bool
) -> None:
    report = load_farm(folder=described(_set("seasons", "area_ac", season_ac)))
    found = [w for w in report.warnings if "seasons[0], field 'pond-40': area_ac says" in w]
    assert bool(found) == warned
    if warned:
        assert (
            f"says {season_ac:.2f} ac and the boundary encloses {Field.objects.get().area_ac} ac" in found[0]
        )


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("section", "key", "value"), [("pivots", "parking_angle_deg", 359.9), ("seasons", "area_ac", 0.01)]
)
def test_the_ends_of_a_range_belong_to_it(described: Described, section: str, key: str, value: float) -> None:
    load_farm(folder=described(_set(section, key, value)))
    stored = getattr((Pivot if section == "pivots" else Season).objects.get(), key)
    assert stored == Decimal(str(value))


@pytest.mark.django_db
def test_what_the_database_refuses_at_the_end_leaves_nothing_half_written(
    described: Described, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*args: object, **kwargs: object) -> None:
        raise IntegrityError("a row of the last table")

    monkeypatch.setattr(Membership.objects, "create", refuse)
    with pytest.raises(IntegrityError):
        load_farm(folder=described())
    assert Farm.objects.count() == 0
    assert get_user_model().objects.count() == 0


@pytest.mark.django_db
def test_another_farm_is_left_alone(described: Described) -> None:
    other = make_farm("other-place")
    make_field(other, "pond-40")
    load_farm(folder=described())
    load_farm(folder=described())
    assert Field.objects.filter(farm=other).count() == 1
    assert Field.objects.filter(farm__code="heron-slough").count() == 1


def _set(section: str, key: str, value: Any) -> Callable[[dict[str, Any], dict[str, Any]], None]:
    def spoil(farm: dict[str, Any], fields: dict[str, Any]) -> None:
        target = farm[section]
        (target if isinstance(target, dict) else target[0])[key] = value

    return spoil


def _field(key: str, value: Any) -> Callable[[dict[str, Any], dict[str, Any]], None]:
    return lambda farm, fields: fields["features"][0].__setitem__(key, value)


def _ring(ring: list[Any]) -> Callable[[dict[str, Any], dict[str, Any]], None]:
    return _field("geometry", {"type": "Polygon", "coordinates": [ring]})


RING = [[-83.52, 31.60], [-83.51573, 31.60], [-83.51573, 31.60365], [-83.52, 31.60365], [-83.52, 31.60]]
OVERLAP = [
    {"days": ["mon"], "from": "07:00", "to": "12:00"},
    {"days": ["mon", "tue"], "from": "11:00", "to": "14:00"},
]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (_set("farm", "zone", "America/Nowhere"), "farm.json: farm.zone: 'America/Nowhere' is not the IANA"),
        (_set("farm", "latitude_deg", 131.6), "farm.json: farm.latitude_deg: 131.6 is outside -90 to 90"),
        (_set("farm", "latitude_deg", "31.6"), "farm.latitude_deg: a number is wanted, not a text"),
        (_set("farm", "colour", "green"), "farm.json: farm.colour: the key is not known here"),
        (_set("farm", "code", "Heron Slough"), "farm.code: 'Heron Slough' is not a code"),
        (_set("farm", "sheet_at", "5 am"), "farm.sheet_at: '5 am' is not a time"),
        (_set("zones", "texture", "gumbo"), "farm.json: zones[0].texture: 'gumbo' is not a texture; known:"),
        (_set("zones", "share_pct", 50), "zones: the shares of field 'pond-40' add up to 90.00, not 100"),
        (_set("zones", "field", "pond-41"), "zones[0].field: no field has the code 'pond-41'; known: pond-40"),
        (_set("pivots", "pump", "well-9"), "farm.json: pivots[0].pump: no pump has the code 'well-9'"),
        (_set("pivots", "walk_ft_per_min", 0), "pivots[0].walk_ft_per_min: 0 is outside 0.5 to 40"),
        (_set("users", "hand", "zed"), "farm.json: users[0].hand: no hand has the code 'zed'; known: ada"),
        (_set("users", "roles", ["manager"]), "users[0].hand: the role hand and the key hand go together"),
        (_set("users", "roles", ["boss"]), "users[0].roles[0]: 'boss' is not one of"),
        (_set("hands", "language", "fr"), "hands[0].language: 'fr' is not one of en, es"),
        (_set("hands", "may_do", ["disk", "fly"]), "hands[0].may_do[1]: 'fly' is not one of"),
        (_set("hands", "may_do", ["disk", "disk"]), "hands[0].may_do[1]: 'disk' stands twice"),
        (_set("hands", "email", "nobody"), "hands[0].email: 'nobody' is not an e-mail address"),
        (_set("users", "email", "nobody"), "users[0].email: 'nobody' is not an e-mail address"),
        (_set("hands", "away", [{"first_on": "2026-W05-6", "last_on": "2026-02-01"}]), "'2026-W05-6' is not a date"),
        (_set("hands", "away", [{"first_on": "2026-02-01", "last_on": "20260202"}]), "'20260202' is not a date"),
        (lambda farm, fields: fields["features"].clear(), "fields.geojson: features: a farm has at least one field"),
        (_set("hands", "name", "A\nBcc: x"), "hands[0].name: holds a character that cannot be printed"),
        (_set("hands", "shifts", OVERLAP), "hands[0].shifts[1].from: overlaps another stretch of mon"),
        (
            _set("hands", "shifts", [{"days": ["mon"], "from": "18:00", "to": "02:00"}]),
            "hands[0].shifts[0].to: 02:00 is not later than 18:00; split a stretch at midnight",
        ),
        (_set("machines", "code", "ada"), "machines: the code 'ada' stands in hands too"),
        (_set("machines", "power_hp", 190.55), "machines[0].power_hp: 190.55 has more than 1 decimals"),
        (_set("machines", "power_hp", True), "machines[0].power_hp: a number is wanted, not true or false"),
        (_set("implements", "speed_mph", 9), "implements[0].speed_mph: 9.0 mph does not lie between 4.0 and 6.0"),
        (_set("seasons", "crop", "kudzu"), "seasons[0].crop: 'kudzu' is not one of"),
        (_set("seasons", "area_ac", -3), "seasons[0].area_ac: -3 is outside"),
        (lambda farm, fields: farm["machines"].append(farm["machines"][0]), "machines[1]: code 'tractor-1' stands"),
        (lambda farm, fields: farm.pop("zones"), "farm.json: zones: is missing"),
        (lambda farm, fields: farm.__setitem__("format", "farm/2"), "farm.json: format: 'farm/2' is not one of"),
        (lambda farm, fields: farm.__setitem__("hands", {}), "farm.json: hands: a list is wanted, not an object"),
        (lambda farm, fields: farm["hands"].append(7), "farm.json: hands[1]: an object is wanted here, not a num"),
        (_ring(RING[:-1]), "fields.geojson: features[0].geometry.coordinates[0]: field 'pond-40': the ring is not"),
        (_ring([RING[0], RING[2], RING[1], RING[3], RING[0]]), "'pond-40': the boundary crosses itself near"),
        (_ring([[y, x] for x, y in RING]), "field 'pond-40': the boundary lies"),
        (_ring([[y, x] for x, y in RING]), "longitude and latitude look swapped"),
        (_field("geometry", None), "features[0].geometry: field 'pond-40': a boundary is an object"),
        (_field("properties", {"name": "x"}), "fields.geojson: features[0].properties.code: is missing"),
        (lambda farm, fields: fields["features"].append(fields["features"][0]), "features[1]: code 'pond-40' sta"),
        (lambda farm, fields: fields.__setitem__("crs", {}), "fields.geojson: crs: is not part of RFC 7946"),
    ],
)  # fmt: skip
def test_a_bad_file_is_refused_by_file_and_path_and_nothing_is_written(
    described: Described, spoil: Any, says: str
) -> None:
    folder = described(spoil)
    with pytest.raises(BadFarmFile) as caught:
        load_farm(folder=folder)
    assert says in caught.value.says
    assert caught.value.says.startswith(str(folder))
    assert Farm.objects.count() == 0
    assert get_user_model().objects.count() == 0


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "line 1, column 1: not JSON"),
        (b'{"format": "farm/1",\n "farm": }', "line 2, column 10: not JSON"),
        (b'{"format": NaN}', "NaN is not a number"),
        (b'{"a": 1, "a": 2}', "the key 'a' stands twice"),
        (b"\xff\xfe\x00", "not UTF-8 text (byte 0)"),
        (b"[" * 100000, "not JSON"),
        (b"[1]", "an object is wanted here, not a list"),
    ],
)
def test_garbage_is_refused_by_file_and_line(described: Described, content: bytes, says: str) -> None:
    folder = described()
    (folder / "farm.json").write_bytes(content)
    with pytest.raises(BadFarmFile) as caught:
        load_farm(folder=folder)
    assert str(folder / "farm.json") in caught.value.says
    assert says in caught.value.says


@pytest.mark.django_db
def test_the_command_reports_as_json_and_refuses_with_a_sentence(
    described: Described, tmp_path: Path
) -> None:
    out = StringIO()
    call_command("load_farm", str(described()), "--json", stdout=out)
    report = json.loads(out.getvalue())
    assert report["farm"] == "heron-slough"
    assert report["counts"]["pivots"] == 1
    with pytest.raises(CommandError, match="there is no such file"):
        call_command("load_farm", str(tmp_path / "nowhere"), stdout=out)


@pytest.mark.django_db
def test_a_user_of_another_farm_is_not_renamed_and_is_named_in_a_warning(described: Described) -> None:
    user = get_user_model().objects.create_user("bo", password="keep-this-password-2026", first_name="Bodil")
    report = load_farm(folder=described())
    user.refresh_from_db()
    assert user.first_name == "Bodil"
    assert user.check_password("keep-this-password-2026")
    assert any("'bo' exists already" in warning for warning in report.warnings)
