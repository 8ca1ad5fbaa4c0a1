"""What the slips of one day share: weather, the grower's words, sprayings, services that are due, ticks, new hands."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from zoneinfo import ZoneInfo

import numpy as np

from farmops.core.clock import local_date
from farmops.farms.models import Farm, Hand
from farmops.science.exposure import heat_index_f, heat_level
from farmops.science.units import fahrenheit_from_celsius
from farmops.weather.selectors import NoWeather, daily_series, hourly_forecast
from scheduling.models import CheckTicked, SaySo, WorkRecord
from scheduling.selectors.care import CareDue, care_due
from scheduling.selectors.day_rows import DayRows, day_bounds
from scheduling.selectors.forecast_hours import told_hours
from scheduling.selectors.sprayed import (
    LONGEST_REENTRY_DAYS,
    SprayRows,
    reported_without_a_label,
    sprayed_fields,
)
from scheduling.slips.checks import RuleDue
from scheduling.slips.facts import BossWord, HeatToday, NewHand, StayOut
from scheduling.slips.first_days import FIRST_DAYS, new_hand
from scheduling.slips.words import Said
from scheduling.windows.air import ToldHour
from scheduling.windows.stops import Sprayed

WARM_FROM_F = 80.0
"""The heat index is not made for cooler air."""
ONE_HOUR = dt.timedelta(hours=1)


@dataclass(frozen=True)
class DayWeather:
    """What the day may bring, as it was known; None and nan where nothing is known."""

    temp_max_f: float | None = None
    humidity_min_pct: float | None = None
    rain_chance: float | None = None
    hours: Mapping[dt.datetime, ToldHour] | None = None

    def heat(self, *, starts_at: dt.datetime, ends_at: dt.datetime) -> HeatToday | None:
        """Return how hot it may feel at the most while the work lasts; None where it stays below 80 °F or nobody knows.

        By the forecast's hours; without them by the day's high with the day's driest air, which come together.
        """
        told = [
            (float(fahrenheit_from_celsius(hour.temp_c)), hour.humidity_pct)
            for at, hour in (self.hours or {}).items()
            if at < ends_at and at + ONE_HOUR > starts_at and not np.isnan(hour.temp_c + hour.humidity_pct)
        ]
        if not told and self.temp_max_f is not None and self.humidity_min_pct is not None:
            told = [(self.temp_max_f, self.humidity_min_pct)]
        felt = [
            float(heat_index_f(temp_f=min(temp_f, 130.0), humidity_pct=min(max(damp_pct, 0.0), 100.0)))
            for temp_f, damp_pct in told
            if temp_f >= WARM_FROM_F
        ]
        return HeatToday(heat_level(heat_index_f=max(felt)), max(felt)) if felt else None


@dataclass(frozen=True)
class DayFacts:
    """What the slips of a day share, by row ids."""

    weather: DayWeather
    boss_words: Mapping[int, tuple[BossWord, ...]]
    kept_shut: Mapping[int, Sequence[tuple[int | None, StayOut]]]
    due: Sequence[CareDue]
    planned_rules: frozenset[int]
    ticked: Mapping[int, frozenset[tuple[str, str, str]]]
    new_hands: Mapping[int, NewHand]

    def stay_out(self, *, field_id: int, pass_id: int) -> StayOut | None:
        """Return what keeps a pass out of its field for the longest."""
        others = [one for own_id, one in self.kept_shut.get(field_id, ()) if own_id != pass_id]
        return max(others, key=lambda one: one.until_at, default=None)

    def rules_of(
        self,
        *,
        machine_id: int | None,
        implement_id: int | None,
        pivot_of: int | None,
        work_min: int,
        area_ac: Decimal,
    ) -> list[RuleDue]:
        """Return the services of an outfit, or of the pivot of a field; due are those that run out today.

        What the plan has somebody do on that day is not due.
        """
        found = []
        for one in self.due:
            rule = one.rule
            of_pivot = rule.pivot.field_id if rule.pivot is not None else None
            is_its = [
                mine is not None and mine == theirs
                for mine, theirs in (
                    (machine_id, rule.machine_id),
                    (implement_id, rule.implement_id),
                    (pivot_of, of_pivot),
                )
            ]
            if not any(is_its):
                continue
            is_due = rule.pk not in self.planned_rules and _runs_out(one, work_min, area_ac)
            found.append(
                RuleDue(
                    code=rule.code,
                    what=Said(rule.what, rule.what_es or rule.what),
                    machine_code=rule.machine.code if rule.machine is not None else "",
                    implement_code=rule.implement.code if rule.implement is not None else "",
                    is_due=is_due,
                )
            )
        return found


def day_facts(
    *,
    farm: Farm,
    day: dt.date,
    now: dt.datetime,
    rows: DayRows,
    hands: Collection[Hand],
    weather: DayWeather | None = None,
) -> DayFacts:
    """Return what the slips of a day share, from the day's rows; `weather` is the day's, where it is read."""
    begins, ends = day_bounds(day=day, zone=farm.zone)
    return DayFacts(
        weather=weather
        or day_weather(farm=farm, day=day, as_of=min(day - dt.timedelta(days=1), local_date(now, farm.zone))),
        boss_words=_boss_words(rows.words),
        kept_shut=_stay_out(farm, day, begins, rows.sprays),
        due=care_due(farm=farm, at=min(max(now, begins), ends), rules=rows.rules),
        planned_rules=frozenset(stop.rule_id for stop in rows.stops),
        ticked=_ticked(rows.ticks),
        new_hands=_new_hands(farm, day, hands),
    )


def _runs_out(due: CareDue, work_min: int, area_ac: Decimal) -> bool:
    """Whether a service runs out on the day or in the work of it; what comes each day or outing is due each time."""
    left, rule = due.left, due.rule
    if left.is_over or 1 in (rule.every_days, rule.every_starts):
        return True
    hours, acres = left.hours, left.acres
    is_short_of_hours = hours is not None and hours * 60 < work_min
    return is_short_of_hours or (acres is not None and acres < area_ac)


def day_weather(*, farm: Farm, day: dt.date, as_of: dt.date) -> DayWeather:
    """Return what a day may bring, as it was known at the end of another."""
    hours = told_hours(hourly_forecast(farm=farm, as_of=as_of))
    try:
        series = daily_series(farm=farm, first=day, last=day, as_of=as_of)
    except NoWeather:
        return DayWeather(hours=hours)
    high_c = float(series.temp_max_c[0])
    return DayWeather(
        temp_max_f=None if np.isnan(high_c) else float(fahrenheit_from_celsius(high_c)),
        humidity_min_pct=_known(series.humidity_min_pct[0]),
        rain_chance=_known(series.rain_chance[0]),
        hours=hours,
    )


def _known(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _boss_words(rows: Iterable[SaySo]) -> dict[int, tuple[BossWord, ...]]:
    """Return what stands of the grower's words on each field; a word on a field is said of its zones too."""
    found: dict[int, dict[int | None, BossWord]] = {}
    zones: dict[int, int] = {}
    for row in rows:
        zones[row.field_id] = getattr(row, "zone_count")  # noqa: B009  (`day_rows` counts them)
        if row.zone is None:
            found[row.field_id] = {}
        said = BossWord(row.word, row.after_at, row.zone.name if row.zone else "")
        found.setdefault(row.field_id, {})[row.zone_id] = said
    told: dict[int, tuple[BossWord, ...]] = {}
    for field_id, words in found.items():
        whole = {replace(one, zone="") for one in words.values()}
        is_one_word = len(whole) == 1 and (None in words or len(words) == zones[field_id])
        told[field_id] = tuple(whole if is_one_word else words.values())
    return told


def _stay_out(
    farm: Farm, day: dt.date, begins: dt.datetime, read: SprayRows
) -> dict[int, list[tuple[int | None, StayOut]]]:
    """Return until when the labels of what was sprayed keep people out, for each field that is kept shut that day.

    With each stands the pass whose plan names the label's hours, where nothing else does: its own work goes on.
    """
    found: dict[int, list[tuple[int | None, StayOut]]] = defaultdict(list)
    first = day - dt.timedelta(days=LONGEST_REENTRY_DAYS)
    zone = ZoneInfo(farm.zone)
    sprayings = sprayed_fields(farm=farm, first=first, last=day, read=read)
    told: list[tuple[int, int | None, Sprayed]]
    told = [(field_id, None, one) for field_id, rows in sprayings.items() for one in rows]
    told += [
        (one.field_id, one.pass_id, one.sprayed)
        for one in reported_without_a_label(farm=farm, first=first, last=day, sprayings=sprayings, read=read)
        if one.sprayed is not None
    ]
    for field_id, pass_id, one in told:
        until_at = one.ended_at.astimezone(dt.UTC) + dt.timedelta(hours=one.reentry_h)
        if until_at > begins:
            stay_out = StayOut(until_at.astimezone(zone), one.products, products_es=one.products_es)
            found[field_id].append((pass_id, stay_out))
    return found


def _ticked(rows: Iterable[CheckTicked]) -> dict[int, frozenset[tuple[str, str, str]]]:
    found: dict[int, set[tuple[str, str, str]]] = defaultdict(set)
    for row in rows:
        machine, implement = (one.code if one is not None else "" for one in (row.machine, row.implement))
        found[row.hand_id].add((row.check_key, machine, implement))
    return {hand_id: frozenset(seen) for hand_id, seen in found.items()}


def _new_hands(farm: Farm, day: dt.date, hands: Collection[Hand]) -> dict[int, NewHand]:
    """Return the hands whose first days these are: a day counts once they have reported work on it."""
    since = {
        hand.pk: hand.started_on
        for hand in hands
        if hand.started_on is not None and 0 <= (day - hand.started_on).days < FIRST_DAYS
    }
    if not since:
        return {}
    rows = WorkRecord.objects.filter(farm=farm, hand__in=since, work_on__lt=day, superseded_by__isnull=True)
    worked: dict[int, set[dt.date]] = defaultdict(set)
    for hand_id, work_on in rows.values_list("hand_id", "work_on").distinct():
        if work_on >= since[hand_id]:
            worked[hand_id].add(work_on)
    found = {}
    for hand_id in since:
        one = new_hand(days_worked=len(worked[hand_id]))
        if one is not None:
            found[hand_id] = one
    return found
