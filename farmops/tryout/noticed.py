"""What people notice in the week: gauges, a soil thermometer, remarks and the morning's word, and what each changes."""

import datetime as dt
import uuid
from zoneinfo import ZoneInfo

from farmops.core.models import User
from farmops.farms.models import Farm, Field, SoilZone
from farmops.farms.operations import PIVOT_WORK, WORDS, Operation
from farmops.science.units import fahrenheit_from_celsius, inches_from_mm
from farmops.tryout.scenario import Gauge, RemarkMade, SaidSo, Scenario, Thermometer
from farmops.weather.services.field_readings import record_gauge, record_soil_reading
from scheduling.models import RemarkWord, SaySoWord
from scheduling.selectors.ground import field_ground_table
from scheduling.selectors.passes import open_passes
from scheduling.selectors.windows import pass_windows
from scheduling.services.remarks import record_remark
from scheduling.services.say_so import say_so
from scheduling.windows import GroundDay

FROM_MIN, TO_MIN = 6 * 60, 20 * 60
"""Farm judgement: between 6 am and 8 pm somebody may be out."""


def morning_words(
    *, farm: Farm, scenario: Scenario, day: dt.date, said_by: User, now: dt.datetime
) -> list[str]:
    """Keep the words of a morning, and return what each changes: the hours it shuts or opens."""
    return [_say(farm, one, said_by, now) for one in scenario.said if one.on == day]


def evening_notes(
    *, farm: Farm, scenario: Scenario, day: dt.date, said_by: User, now: dt.datetime
) -> list[str]:
    """Keep what was read and said on a day, once its weather is known, and return what each changes in the ground."""
    told = [_read_gauge(farm, one, said_by, now) for one in scenario.gauges if one.on == day]
    told += [_read_thermometer(farm, one, said_by, now) for one in scenario.thermometers if one.on == day]
    return told + [_remark(farm, one, said_by, now) for one in scenario.remarks if one.on == day]


def _say(farm: Farm, said: SaidSo, said_by: User, now: dt.datetime) -> str:
    zone = SoilZone.objects.select_related("field").get(farm=farm, field__code=said.field, name=said.zone)
    before = _open_min(farm, zone.field, said.on)
    say_so(farm=farm, field=zone.field, zone=zone, day=said.on, word=said.word, said_by=said_by, now=now)
    after = _open_min(farm, zone.field, said.on)
    change = max((after[key] - before[key] for key in before), key=abs, default=0)
    told = f"{'opens' if change > 0 else 'shuts'} {abs(change) / 60:.1f} hours of the day"
    return f"{_place(zone.field, zone)}: “{SaySoWord(said.word).label}”, {told if change else 'as the model had it'}"


def _open_min(farm: Farm, field: Field, day: dt.date) -> dict[str, int]:
    """Return the minutes of a day, from 6 am to 8 pm, in which each pass of a field may be worked, by its key."""
    waiting = [
        one for one in open_passes(farm=farm) if one.season.field == field and one.operation not in PIVOT_WORK
    ]
    report = pass_windows(
        farm=farm,
        passes=waiting,
        starts_at=dt.datetime.combine(day, dt.time(), ZoneInfo(farm.zone)),
        days=1,
        as_of=day - dt.timedelta(days=1),
        fields=[field],
    )
    return {
        windows.key: sum(
            max(0, min(one.to_min, TO_MIN) - max(one.from_min, FROM_MIN)) for one in windows.open
        )
        for windows in report.passes
    }


def _read_gauge(farm: Farm, read: Gauge, said_by: User, now: dt.datetime) -> str:
    field = Field.objects.get(farm=farm, code=read.field)
    before = _ground(farm, field, None, read.on)
    record_gauge(
        farm=farm,
        field=field,
        day=read.on,
        rain_in=read.rain_in,
        client_id=_id(farm, "gauge", read.field, read.on),
        recorded_by=said_by,
        now=now,
    )
    after = _ground(farm, field, None, read.on)
    station = float(inches_from_mm(before.rain_mm))
    wetter = after.topsoil_m3_m3 - before.topsoil_m3_m3
    return (
        f"gauge at {field.name} {read.rain_in} in, the station {station:.2f}: "
        f"topsoil {'wetter' if wetter > 0 else 'drier'} by {abs(wetter):.3f}"
    )


def _read_thermometer(farm: Farm, read: Thermometer, said_by: User, now: dt.datetime) -> str:
    field = Field.objects.get(farm=farm, code=read.field)
    before = _ground(farm, field, None, read.on)
    record_soil_reading(
        farm=farm,
        field=field,
        read_at=dt.datetime.combine(read.on, read.at, ZoneInfo(farm.zone)),
        depth_in=read.depth_in,
        temp_f=read.temp_f,
        client_id=_id(farm, "thermometer", read.field, read.on),
        recorded_by=said_by,
        now=now,
    )
    after = _ground(farm, field, None, read.on)
    was, is_now = (float(fahrenheit_from_celsius(one.soil_temp_mean_c)) for one in (before, after))
    return (
        f"soil at {field.name} {float(read.temp_f):g} °F at {float(read.depth_in):g} in: "
        f"the model's day {'warmer' if is_now > was else 'colder'} by {abs(is_now - was):.1f} °F"
    )


def _remark(farm: Farm, said: RemarkMade, said_by: User, now: dt.datetime) -> str:
    zone = SoilZone.objects.select_related("field").get(farm=farm, field__code=said.field, name=said.zone)
    record_remark(
        farm=farm,
        client_id=_id(farm, "remark", said.field, said.on),
        field=zone.field,
        zone=zone,
        said_at=dt.datetime.combine(said.on, said.at, ZoneInfo(farm.zone)),
        what=said.what,
        operation=said.operation,
        note=said.note,
        said_by=said_by,
        now=now,
    )
    shift = _ground(farm, zone.field, zone, said.on).remark_shift_m3_m3
    word, work = RemarkWord(said.what).label, WORDS[Operation(said.operation)].english
    put = f"topsoil put {'up' if shift > 0 else 'down'} by {abs(shift):.3f}" if shift else "nothing moved"
    return f"{_place(zone.field, zone)}: {word} to {work}, {put}"


def _ground(farm: Farm, field: Field, zone: SoilZone | None, day: dt.date) -> GroundDay:
    """Return the ground of a zone on a day as it is known that evening; of a whole field, that of its wettest zone."""
    rows = field_ground_table(farm=farm, field=field, first=day, last=day, as_of=day)
    if zone is not None:
        rows = tuple(one for one in rows if one.zone == zone.name)
    return max((one.days[0] for one in rows), key=lambda one: one.topsoil_m3_m3)


def _place(field: Field, zone: SoilZone) -> str:
    return field.name if zone.name == "all" else f"{field.name}, {zone.name}"


def _id(farm: Farm, what: str, field: str, day: dt.date) -> uuid.UUID:
    return uuid.uuid5(uuid.NAMESPACE_URL, f"{farm.code}/{what}/{field}/{day}")
