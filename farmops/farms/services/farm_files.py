"""The two files that describe a farm, read and checked as a whole before anything is written.

`farm.json` holds one object. Times are HH:MM on the farm's clock, days `mon` to `sun`, codes are lower-case letters,
digits and hyphens; what a code points to is looked up. Only the keys marked * must stand.

    format*        "farm/1"
    farm*          code* name* zone* (IANA) latitude_deg* longitude_deg* elevation_ft* road_address boss_name
                   boss_phone emergency_number (911) sheet_at (05:00) region (southeast|fao)
    users          username* name email language (en|es) roles* (manager|bookkeeper|hand) hand (with role hand);
                   passwords never stand in a file
    hands          code* name* email phone language is_owner works may_do* (operations) started_on
                   shifts: days* from* to* overtime      away: first_on* last_on* why
                   licenses (to apply pesticides): number* expires_on* category
    machines       code* name* name_es power_hp* kind (tractor|truck|sprayer|combine|picker) road_speed_mph meter_start_h*
                   fuel (diesel|gasoline|propane) noise_dba (at the driver's ear)
    implements     code* name* name_es width_ft* speed_min_mph* speed_mph* speed_max_mph* efficiency_pct* power_needed_hp*
                   does* (operations) carried_by (tractor, or another kind of machine) road_factor wide_on_road
                   draft_kind (a key of farmops.science.work_rate.DRAFT) depth_in tool_count gang_angle_min_deg
                   gang_angle_max_deg bearings_front bearings_back
    fuel_tanks     code* name* holds_gal* fuel (diesel|gasoline|propane)
    pumps          code* name* flow_gpm*                 shut_hours: days* from* to*
    pivots         field* pump* name* last_tower_radius_ft* walk_ft_per_min* tower_count* parking_angle_deg*
                   strip_width_ft strip_move_deg
    zones*         field* name* texture* share_pct* (those of a field add up to 100) workable_m3_m3 dry_m3_m3
                   retention: residual_m3_m3* saturation_m3_m3* alpha_per_m* n*
    seasons        field* crop_year* crop* area_ac* part landlord landlord_share_pct
    care_rules     code* machine|implement|pivot* (a pivot by the code of its field) what* what_es
                   every_h|every_days|every_ac|every_starts* (one or more: whichever runs out first) takes_min*
                   place (yard|field) is_must hands counts_from_h counts_from_on source*
    late_planting  crop* yield_per_ac* yield_unit* price_usd* (for one unit) source, and instead of the region's curve
                   curve (one that ships) or is_in_pct and losses: after* (MM-DD) per_day* at_once source

`fields.geojson` is an RFC 7946 FeatureCollection; each feature has a boundary as its geometry and as properties
code* name* planted_ac* stated_ac agency_farm_no agency_tract_no agency_field_no agency_ac landlord
landlord_share_pct entrance road_address.
"""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.utils.translation import gettext as _

from farmops.core.models import Language
from farmops.farms.boundaries import Boundary, BoundaryError, read_boundary
from farmops.farms.models import Crop, Region, Role
from farmops.farms.services.care_files import read_care_rule, read_late_planting
from farmops.farms.services.farm_rows import Row, number, number_or_none, whole
from farmops.farms.services.json_facts import Node, read_json
from farmops.farms.services.measured_soil import measured_soil
from farmops.farms.services.outfit_files import read_email, read_hand, read_implement, read_machine
from farmops.farms.services.tank_files import read_tank
from farmops.farms.services.week_hours import hours_of
from farmops.science.textures import TEXTURES

FORMAT = "farm/1"
STATED_TOLERANCE = Decimal("0.05")


@dataclass
class FarmFacts:
    """Everything that the files say, checked."""

    farm: Row
    fields: list[Row] = field(default_factory=list)
    hands: list[Row] = field(default_factory=list)
    machines: list[Row] = field(default_factory=list)
    implements: list[Row] = field(default_factory=list)
    fuel_tanks: list[Row] = field(default_factory=list)
    pumps: list[Row] = field(default_factory=list)
    pivots: list[Row] = field(default_factory=list)
    zones: list[Row] = field(default_factory=list)
    seasons: list[Row] = field(default_factory=list)
    care_rules: list[Row] = field(default_factory=list)
    late_planting: list[Row] = field(default_factory=list)
    users: list[Row] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


def read_farm(*, folder: Path) -> FarmFacts:
    """Return the facts of `farm.json` and `fields.geojson` in a folder. Raises BadFarmFile."""
    top = Node(read_json(folder / "farm.json"), path=folder / "farm.json")
    top.choice("format", [FORMAT])
    facts = FarmFacts(farm=read_place(top.node("farm")))
    _fields(facts, folder / "fields.geojson")
    field_codes = _codes(facts.fields)
    for node in top.nodes("hands"):
        _add(facts.hands, read_hand(node), node)
    for node in top.nodes("machines"):
        _add(facts.machines, read_machine(node), node)
    for node in top.nodes("implements"):
        _add(facts.implements, read_implement(node), node)
    for node in top.nodes("fuel_tanks"):
        _add(facts.fuel_tanks, read_tank(node), node)
    for node in top.nodes("pumps"):
        _add(facts.pumps, read_pump(node), node)
    for node in top.nodes("pivots"):
        _add(facts.pivots, read_pivot(node, field_codes, _codes(facts.pumps)), node)
    _zones(facts, top, field_codes)
    measured_ac = {row.key["code"]: row.values["area_ac"] for row in facts.fields}
    for node in top.nodes("seasons"):
        _add(facts.seasons, _season(node, field_codes), node)
        season = facts.seasons[-1]
        code = season.points_to["field"]
        place = f"{node.path}: {node.at}, field {code!r}"
        _compare_acres(facts, place, "area_ac", season.values["area_ac"], measured_ac[code])
    things = {
        "machine": _codes(facts.machines),
        "implement": _codes(facts.implements),
        "pivot": [row.points_to["field"] for row in facts.pivots],
    }
    for node in top.nodes("care_rules"):
        _add(facts.care_rules, read_care_rule(node, things, _codes(facts.hands)), node)
    for node in top.nodes("late_planting"):
        _add(facts.late_planting, read_late_planting(node), node)
    for node in top.nodes("users"):
        _add(facts.users, read_user(node, _codes(facts.hands)), node)
    top.finish()
    _no_code_twice(facts, top)
    return facts


def _codes(rows: list[Row]) -> list[str]:
    return [row.key["code"] for row in rows]


def _add(rows: list[Row], row: Row, node: Node) -> None:
    named = {**row.key, **row.points_to}
    if any({**other.key, **other.points_to} == named for other in rows):
        says = ", ".join(f"{key} {value!r}" for key, value in named.items())
        raise node.wrong(f"{says} stands a second time")
    node.finish()
    rows.append(row)


def _no_code_twice(facts: FarmFacts, top: Node) -> None:
    """One code names one thing of the farm, since plans name outfits by their codes."""
    owners: dict[str, str] = {}
    for kind in ("hands", "machines", "implements", "pumps", "fuel_tanks"):
        for code in _codes(getattr(facts, kind)):
            if code in owners:
                raise top.wrong(f"the code {code!r} stands in {owners[code]} too", kind)
            owners[code] = kind


def read_place(node: Node) -> Row:
    """Return the row of a farm: its clock, its place and whom to call."""
    zone = node.text("zone", most=60)
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise node.wrong(
            _("{zone} is not the IANA name of a time zone").format(zone=repr(zone)), "zone"
        ) from error
    row = Row(
        key={"code": node.code("code")},
        values={
            "name": node.text("name", most=80),
            "zone": zone,
            "latitude_deg": number(node, "latitude_deg"),
            "longitude_deg": number(node, "longitude_deg"),
            "elevation_ft": number(node, "elevation_ft"),
            "road_address": node.text("road_address", most=120, default=""),
            "boss_name": node.text("boss_name", most=60, default=""),
            "boss_phone": node.text("boss_phone", most=30, default=""),
            "emergency_number": node.text("emergency_number", most=20, default="911"),
        },
    )
    if node.raw("sheet_at") is not None:
        row.values["sheet_at"] = node.time("sheet_at")
    if node.raw("region") is not None:
        row.values["region"] = node.choice("region", Region.values)
    node.finish()
    return row


def _fields(facts: FarmFacts, path: Path) -> None:
    top = Node(read_json(path), path=path)
    top.choice("type", ["FeatureCollection"])
    if top.raw("crs") is not None:
        raise top.wrong("is not part of RFC 7946; positions are longitude and latitude on WGS 84", "crs")
    for ignored in ("name", "bbox"):
        top.raw(ignored)
    place = facts.farm.values
    if not top.raw("features"):
        raise top.wrong("a farm has at least one field", "features")
    for feature in top.nodes("features", required=True):
        feature.choice("type", ["Feature"])
        feature.raw("id"), feature.raw("bbox")
        node = feature.node("properties")
        code = node.code("code")
        try:
            boundary = read_boundary(
                feature.raw("geometry"),
                near_latitude_deg=float(place["latitude_deg"]),
                near_longitude_deg=float(place["longitude_deg"]),
            )
        except BoundaryError as error:
            where = f"geometry.{error.at}" if error.at else "geometry"
            raise feature.wrong(f"field {code!r}: {error.says}", where) from error
        row = read_field(node, boundary)
        node.finish()
        _add(facts.fields, row, feature)
        for key in ("stated_ac", "planted_ac"):
            _compare_acres(facts, f"{path}: field {code!r}", key, row.values[key], boundary.area_ac)


def read_field(node: Node, boundary: Boundary) -> Row:
    """Return the row of a field by its properties and its boundary."""
    return Row(
        key={"code": node.code("code")},
        values={
            "name": node.text("name", most=60),
            "boundary": boundary.geometry,
            "area_ac": boundary.area_ac,
            "latitude_deg": boundary.latitude_deg,
            "longitude_deg": boundary.longitude_deg,
            "planted_ac": number(node, "planted_ac"),
            "stated_ac": number_or_none(node, "stated_ac"),
            "agency_farm_no": node.text("agency_farm_no", most=12, default=""),
            "agency_tract_no": node.text("agency_tract_no", most=12, default=""),
            "agency_field_no": node.text("agency_field_no", most=12, default=""),
            "agency_ac": number_or_none(node, "agency_ac"),
            "landlord": node.text("landlord", most=80, default=""),
            "landlord_share_pct": number_or_none(node, "landlord_share_pct"),
            "entrance": node.text("entrance", most=120, default=""),
            "road_address": node.text("road_address", most=120, default=""),
        },
    )


def _compare_acres(facts: FarmFacts, place: str, key: str, said: Decimal | None, measured: Decimal) -> None:
    """Warn of acres said that differ by more than 5 % from the boundary; those of a part only if larger."""
    if said is None or abs(said - measured) <= STATED_TOLERANCE * measured:
        return
    if key != "stated_ac" and said < measured:
        return
    facts.warnings.append(
        f"{place}: {key} says {said} ac and the boundary encloses {measured} ac, "
        f"{abs(said - measured) / measured * 100:.1f} % apart; both are kept."
    )


def read_pump(node: Node) -> Row:
    """Return the row of a well or pump."""
    return Row(
        key={"code": node.code("code")},
        values={
            "name": node.text("name", most=60),
            "flow_gpm": number(node, "flow_gpm"),
        },
        rows={"shut_hours": hours_of(node, "shut_hours")},
    )


def read_pivot(node: Node, fields: Collection[str], pumps: Collection[str]) -> Row:
    """Return the row of a center pivot on a field."""
    return Row(
        key={},
        values={
            "name": node.text("name", most=60),
            "last_tower_radius_ft": number(node, "last_tower_radius_ft"),
            "walk_ft_per_min": number(node, "walk_ft_per_min"),
            "tower_count": whole(node, "tower_count"),
            "parking_angle_deg": number(node, "parking_angle_deg"),
            "strip_width_ft": number(node, "strip_width_ft", default=Decimal(60)),
            "strip_move_deg": number(node, "strip_move_deg", default=Decimal(20)),
            "pump": node.code("pump", known=pumps, what="pump"),
        },
        points_to={"field": node.code("field", known=fields, what="field")},
    )


def _zones(facts: FarmFacts, top: Node, fields: list[str]) -> None:
    shares: dict[str, Decimal] = defaultdict(Decimal)
    for node in top.nodes("zones", required=True):
        code = node.code("field", known=fields, what="field")
        share = number(node, "share_pct")
        texture = node.text("texture", most=30)
        if texture not in TEXTURES:
            raise node.wrong(f"{texture!r} is not a texture; known: {', '.join(sorted(TEXTURES))}", "texture")
        shares[code] += share
        row = Row(
            key={"name": node.text("name", most=40)},
            values={"texture": texture, "share_pct": share, **measured_soil(node)},
            points_to={"field": code},
        )
        _add(facts.zones, row, node)
    for code in fields:
        if code not in shares:
            raise top.wrong(f"field {code!r} has no soil zone", "zones")
        if shares[code] != 100:
            raise top.wrong(f"the shares of field {code!r} add up to {shares[code]}, not 100", "zones")


def _season(node: Node, fields: list[str]) -> Row:
    part = node.code("part") if node.raw("part") not in (None, "") else ""
    return Row(
        key={
            "crop_year": whole(node, "crop_year"),
            "crop": node.choice("crop", Crop.values),
            "part": part,
        },
        values={
            "area_ac": number(node, "area_ac"),
            "landlord": node.text("landlord", most=80, default=""),
            "landlord_share_pct": number_or_none(node, "landlord_share_pct"),
        },
        points_to={"field": node.code("field", known=fields, what="field")},
    )


def read_user(node: Node, hands: Collection[str]) -> Row:
    """Return the row of somebody who signs in, with the parts that he or she has."""
    roles = node.words("roles", Role.values)
    hand = node.code("hand", known=hands, what="hand") if node.raw("hand") is not None else ""
    if (Role.HAND.value in roles) != bool(hand):
        raise node.wrong("the role hand and the key hand go together", "hand" if hand else "roles")
    return Row(
        key={"username": node.text("username", most=150)},
        values={
            "first_name": node.text("name", most=150, default=""),
            "email": read_email(node),
            "language": node.choice("language", Language.values, default=Language.ENGLISH),
        },
        rows={"memberships": [{"role": role, "hand": hand if role == Role.HAND else ""} for role in roles]},
    )
