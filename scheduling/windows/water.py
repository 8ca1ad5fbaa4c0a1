"""The water of a block of columns over a run's days: one balance in daily and hourly steps, members once they part."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from farmops.science.soil_column import (
    ColumnRun,
    ColumnSoils,
    ColumnState,
    Correction,
    at_field_capacity,
    column_soils,
    run_column,
)
from scheduling.windows.columns import Column, GroundRemark, ZoneSoil
from scheduling.windows.crops_ahead import CropsAhead
from scheduling.windows.day_weather import Values
from scheduling.windows.so_far import hours_read, put_in
from scheduling.windows.timeline import Timeline

Floats = npt.NDArray[np.floating]
MORNING_H = 8.0
WETTER_BY_M3_M3, DRIER_BY_M3_M3 = 0.03, 0.005
"""Ground that is said to be too wet is at least so much above its workable limit, too dry so much below its dry one.
Farm judgement: a sunny day takes the first, so what was too wet in the morning stays shut into the afternoon."""
FLOWS = ("runoff_mm", "evaporation_mm", "transpiration_mm", "drainage_mm", "correction_mm")
LOW_TENTH, HIGH_TENTH = 0.1, 0.9


@dataclass(frozen=True)
class Driving:
    """What drives the balance: rain and reference evapotranspiration, mm (days, members); rain as it is told (days,)."""

    rain_mm: Values
    told_rain_mm: Values
    et0_mm: Values


@dataclass(frozen=True)
class HourWater:
    """Water at the end of each kept hour, (hours, columns, members): written by the run, block by block."""

    topsoil_m3_m3: Floats
    subsoil_m3_m3: Floats
    seed_m3_m3: Floats

    def of(self, first: int, last: int) -> "HourWater":
        """Return the columns `first` up to, not with, `last`: a view."""
        return HourWater(*(part[:, first:last] for part in self._parts))

    def keep(self, run: ColumnRun, hours: slice, steps: slice | npt.NDArray[np.int64]) -> None:
        """Write some steps of a run into some hours, the same for all members where they have not parted."""
        self.topsoil_m3_m3[hours] = run.topsoil_m3_m3[steps]
        self.subsoil_m3_m3[hours] = run.subsoil_m3_m3[steps]
        self.seed_m3_m3[hours] = run.seed_m3_m3[steps]

    @property
    def _parts(self) -> tuple[Floats, Floats, Floats]:
        return self.topsoil_m3_m3, self.subsoil_m3_m3, self.seed_m3_m3


def empty_hours(*, line: Timeline, columns: int, members: int) -> HourWater:
    """Return room for the kept hours of all columns."""
    shape = (len(line.hours.starts) - line.first_kept_hour, columns, members)
    return HourWater(*(np.empty(shape, dtype=np.float32) for _ in range(3)))


@dataclass(frozen=True)
class BlockWater:
    """Water of some columns over all days.

    `end_m3_m3` is the topsoil at each day's end, (days, columns, members), the same for all members before they part;
    those in `by_day` are the members' middle or tenths, (days, columns). `flows_mm` are summed over all days and
    `end` is where the run stopped, (columns, members): rain, watering and correction less the others are what the
    stores hold more than at the start.
    """

    end_m3_m3: Floats
    flows_mm: dict[str, Values]
    end: ColumnState
    by_day: dict[str, Values]


@dataclass(frozen=True)
class _Stage:
    """A stretch of days in steps of one length."""

    first: int
    last: int
    is_hourly: bool
    members: int


def run_water(
    *, columns: Sequence[Column], crops: CropsAhead, driving: Driving, line: Timeline, hours: HourWater
) -> BlockWater:
    """Run the balance and write its kept hours into `hours`; the ground starts drained and not dried on the first day."""
    soils = column_soils([column.soil.texture for column in columns], crops.deep_to_m)
    said = _run(soils, columns, crops, driving, line, _corrections(columns, line), hours)
    remarked = [place for place, column in enumerate(columns) if column.facts.remarks]
    shift = np.zeros((len(line.days), len(columns)))
    if remarked:
        alone = [columns[place] for place in remarked]
        some = column_soils([column.soil.texture for column in alone], crops.deep_to_m[remarked])
        unsaid = _run(some, alone, crops.of(remarked), driving, line, (), None)
        shift[:, remarked] = said.by_day["topsoil_day"][:, remarked] - unsaid.by_day["topsoil_day"]
    said.by_day["remark_shift"] = shift
    return said


def _run(
    soils: ColumnSoils,
    columns: Sequence[Column],
    crops: CropsAhead,
    driving: Driving,
    line: Timeline,
    corrections: Sequence[tuple[dt.datetime, Correction]],
    hours: HourWater | None,
) -> BlockWater:
    members = driving.rain_mm.shape[1]
    stages = (
        _Stage(0, line.hourly_from, False, 1),
        _Stage(line.hourly_from, line.members_from, True, 1),
        _Stage(line.members_from, line.hourly_until, True, members),
        _Stage(line.hourly_until, len(line.days), False, members),
    )
    by_day: dict[str, list[Values]] = {}
    ends: list[Floats] = []
    flows = dict.fromkeys(FLOWS, np.zeros((len(columns), members)))
    state = at_field_capacity(soils=soils, members=1)
    for stage in stages:
        if stage.first >= stage.last:
            continue
        run = _run_stage(stage, soils, columns, crops, driving, line, corrections, state)
        state = run.end
        flows = {name: total + getattr(run, name) for name, total in flows.items()}
        if hours is not None:
            _keep(hours, run, stage, line)
        ends.append(_tell_days(by_day, run, stage, line))
    whole = np.concatenate([np.broadcast_to(end, (*end.shape[:2], members)) for end in ends])
    return BlockWater(
        end_m3_m3=whole,
        flows_mm=flows,
        end=state,
        by_day={name: np.concatenate(parts).astype(np.float64) for name, parts in by_day.items()},
    )


def _run_stage(
    stage: _Stage,
    soils: ColumnSoils,
    columns: Sequence[Column],
    crops: CropsAhead,
    driving: Driving,
    line: Timeline,
    corrections: Sequence[tuple[dt.datetime, Correction]],
    state: ColumnState,
) -> ColumnRun:
    days = slice(stage.first, stage.last)
    rain = _rain_mm(stage, columns, driving)
    watered = np.array([column.facts.watered_mm[days] for column in columns]).T
    if stage.is_hourly:
        steps = line.hours_of(stage.first, stage.last)
        day_index = line.hours.day_index[steps] - (stage.first - line.hourly_from)
        length = line.hours.minutes[steps] / 1440
        daylight = line.daylight_share[steps]
        rain = rain[day_index] * line.rain_share[steps][:, np.newaxis, np.newaxis]
        rain = _with_so_far(rain, columns, line, steps.start)
        in_day = np.bincount(day_index, weights=length)
        watered = watered[day_index] * (length / in_day[day_index])[:, np.newaxis]
        first_step = steps.start
    else:
        day_index = np.arange(stage.last - stage.first)
        length = daylight = np.ones(len(day_index))
        first_step = stage.first
    return run_column(
        soils=soils,
        start=_spread(state, stage.members),
        day_index=day_index,
        share_of_day=length,
        daylight_share=daylight,
        rain_mm=rain,
        et0_mm=driving.et0_mm[days, np.newaxis, : stage.members],
        kc_max=crops.kc_max[days],
        crop=crops.part(stage.first, stage.last),
        watering_mm=watered if watered.any() else None,
        corrections=_steps_of(corrections, stage, line, first_step),
        compact=True,
    )


def _rain_mm(stage: _Stage, columns: Sequence[Column], driving: Driving) -> Values:
    """Return the stage's rain by day: as read at each field, as read on the farm, or as the members have it."""
    days = slice(stage.first, stage.last)
    farm: Values = driving.rain_mm[days, np.newaxis, : stage.members]
    if stage.members == 1:
        farm = driving.told_rain_mm[days, np.newaxis, np.newaxis]
    read = np.array([column.facts.rain_mm[days] for column in columns]).T[:, :, np.newaxis]
    known = ~np.isnan(read)
    if not known.any():
        return farm
    whole = np.broadcast_to(read, (*read.shape[:2], farm.shape[2]))
    fallen: Values = np.where(np.isnan(whole), farm, whole)
    return fallen


def _with_so_far(rain: Values, columns: Sequence[Column], line: Timeline, first_hour: int) -> Values:
    """Return the rain of some hours with what gauges showed of a day that is not over in the hours before they were read."""
    some = [place for place, column in enumerate(columns) if column.facts.so_far]
    if not some:
        return rain
    whole = np.array(np.broadcast_to(rain, (len(rain), len(columns), rain.shape[2])))
    for place in some:
        put_in(whole, hours_read(columns[place], line), column=place, first=first_hour)
    return whole


def _spread(state: ColumnState, members: int) -> ColumnState:
    parts = {one.name: getattr(state, one.name) for one in fields(ColumnState)}
    return ColumnState(
        **{
            name: np.repeat(part, members, axis=1) if part.shape[1] != members else part
            for name, part in parts.items()
        }
    )


def _keep(hours: HourWater, run: ColumnRun, stage: _Stage, line: Timeline) -> None:
    """Keep the stage's hours; a day that was run in one step stands for all of its hours."""
    if stage.last <= line.kept_from:
        return
    places = line.hours_of(max(stage.first, line.kept_from), stage.last)
    kept = slice(places.start - line.first_kept_hour, places.stop - line.first_kept_hour)
    if stage.is_hourly:
        begins = line.hours_of(stage.first, stage.last).start
        hours.keep(run, kept, slice(places.start - begins, places.stop - begins))
    else:
        hours.keep(run, kept, line.hours.day_index[places] + line.hourly_from - stage.first)


def _tell_days(by_day: dict[str, list[Values]], run: ColumnRun, stage: _Stage, line: Timeline) -> Floats:
    if stage.is_hourly:
        steps = line.hours_of(stage.first, stage.last)
        day = line.hours.day_index[steps]
        ends = np.flatnonzero(np.diff(day, append=day[-1] + 1) > 0)
        early = np.flatnonzero(line.hours.clock_h[steps] < MORNING_H)
        mornings = early[np.flatnonzero(np.diff(day[early], append=day[-1] + 1) > 0)]
    else:
        ends = mornings = np.arange(stage.last - stage.first)
    end = run.topsoil_m3_m3[ends]
    told = {
        "topsoil_morning": np.median(run.topsoil_m3_m3[mornings], axis=2),
        "seed_morning": np.median(run.seed_m3_m3[mornings], axis=2),
        "topsoil_day": np.median(end, axis=2),
        "topsoil_low": np.quantile(run.topsoil_m3_m3[mornings], LOW_TENTH, axis=2),
        "topsoil_high": np.quantile(run.topsoil_m3_m3[mornings], HIGH_TENTH, axis=2),
        "subsoil_day": np.median(run.subsoil_m3_m3[ends], axis=2),
        "rootzone_depletion": np.median(run.rootzone_depletion_mm[ends], axis=2),
    }
    for name, values in told.items():
        by_day.setdefault(name, []).append(values)
    return end


def _corrections(columns: Sequence[Column], line: Timeline) -> list[tuple[dt.datetime, Correction]]:
    """Return the remarks as bounds on the topsoil, each with its instant; the step is set where it is run."""
    return [
        (remark.said_at, _bounds(remark, column.soil, place))
        for place, column in enumerate(columns)
        for remark in column.facts.remarks
        if line.day_of(remark.said_at) >= 0
    ]


def _bounds(remark: GroundRemark, soil: ZoneSoil, column: int) -> Correction:
    """Return what a remark says of the topsoil, within what the soil can hold."""
    driest, wettest = soil.texture.wilting_point_m3_m3 / 2, soil.texture.saturation_m3_m3
    workable, dry = (
        min(max(limit, driest), wettest) for limit in (soil.workable_below_m3_m3, soil.dry_below_m3_m3)
    )
    if remark.what == "too_wet":
        return Correction(0, column, at_least_m3_m3=min(workable + WETTER_BY_M3_M3, wettest))
    if remark.what == "too_dry":
        return Correction(0, column, at_most_m3_m3=max(dry - DRIER_BY_M3_M3, driest))
    return Correction(0, column, at_least_m3_m3=min(dry, workable), at_most_m3_m3=workable)


def _steps_of(
    corrections: Sequence[tuple[dt.datetime, Correction]], stage: _Stage, line: Timeline, first_step: int
) -> list[Correction]:
    found = []
    for said_at, bounds in corrections:
        if stage.first <= line.day_of(said_at) < stage.last:
            step = (line.hour_of(said_at) if stage.is_hourly else line.day_of(said_at)) - first_step
            found.append(Correction(step, bounds.column, bounds.at_least_m3_m3, bounds.at_most_m3_m3))
    return sorted(found, key=lambda one: (one.step, one.column))
