"""Read one day of a pass out of a `windows/1` document: what shuts it, how sure it is, and the ground. Pure."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from farmops.science.units import fahrenheit_from_celsius
from scheduling.slips.facts import GroundToday, ShutHours
from scheduling.slips.words import Said

# A sheet tells what may shut the work while a hand could be at it; a shut night is no news.
EVENING = dt.time(20)
MOST_REASONS = 2


@dataclass(frozen=True)
class PassDay:
    """What the windows say of one pass between the start of its task and the evening."""

    shut: tuple[ShutHours, ...] = ()
    open_chance: float | None = None


class KnownWindows:
    """A `windows/1` document, asked by pass and field."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self._start = dt.datetime.fromisoformat(document["start"]) if document else None
        self._passes = {windows["pass"]: windows for windows in document.get("passes", ())}
        self._zones: dict[str, list[Mapping[str, Any]]] = {}
        for zone in document.get("ground", ()):
            self._zones.setdefault(zone["field"], []).append(zone)
        as_of = document.get("as_of")
        self.as_of = dt.date.fromisoformat(as_of) if as_of else None

    def pass_day(
        self, *, pass_key: str, starts_at: dt.datetime, ends_at: dt.datetime, zone: ZoneInfo
    ) -> PassDay:
        """Return what shuts a pass from its start to the evening of that day, and the least chance while it lasts.

        A task that is shut for a part of its hours has no chance: the reason says it.
        """
        windows = self._passes.get(pass_key)
        if windows is None or self._start is None:
            return PassDay()
        local_start = starts_at.astimezone(zone)
        evening = max(dt.datetime.combine(local_start.date(), EVENING, tzinfo=zone), ends_at.astimezone(zone))
        shut = []
        for stretch in windows["shut"]:
            first, last = self._span(stretch, zone)
            if first < evening and last > local_start:
                says = Said(stretch["says"], stretch["says_es"])
                shut.append(ShutHours(max(first, local_start), min(last, evening), says))
        chances = [
            stretch["chance"]
            for stretch in windows["open"]
            if self._at(stretch["from"]) < ends_at and self._at(stretch["to"]) > starts_at
        ]
        is_shut_meanwhile = any(hours.starts_at < ends_at for hours in shut)
        return PassDay(
            tuple(_joined(shut)[:MOST_REASONS]), min(chances) if chances and not is_shut_meanwhile else None
        )

    def ground(self, *, field_code: str, day: dt.date, with_soil_temp: bool) -> GroundToday | None:
        """Return the ground of the field's wettest zone at 8 am of a day, or None when it is not known."""
        grounds = self.grounds(field_code=field_code, day=day, with_soil_temp=with_soil_temp)
        return max(grounds.values(), key=lambda one: one.share, default=None)

    def grounds(
        self, *, field_code: str, day: dt.date, with_soil_temp: bool = False
    ) -> dict[str, GroundToday]:
        """Return the ground of each zone of a field at 8 am of a day, by its name, as far as it is known."""
        found: dict[str, GroundToday] = {}
        for zone in self._zones.get(field_code, ()):
            rows = {row["day"]: row for row in zone["days"]}
            today = rows.get(day.isoformat())
            if today is None:
                continue
            found[zone["zone"]] = GroundToday(
                zone=zone["zone"],
                topsoil_m3_m3=today["topsoil_8am_m3_m3"],
                workable_below_m3_m3=today["workable_below_m3_m3"],
                soil_temp_8am_f=_fahrenheit(today["soil_temp_8am_c"]) if with_soil_temp else None,
            )
        return found

    def _at(self, minute: int) -> dt.datetime:
        assert self._start is not None
        return self._start.astimezone(dt.UTC) + dt.timedelta(minutes=minute)

    def _span(self, stretch: Mapping[str, Any], zone: ZoneInfo) -> tuple[dt.datetime, dt.datetime]:
        return self._at(stretch["from"]).astimezone(zone), self._at(stretch["to"]).astimezone(zone)


def _joined(shut: list[ShutHours]) -> list[ShutHours]:
    """Join stretches that touch and say the same."""
    joined: list[ShutHours] = []
    for stretch in sorted(shut, key=lambda hours: hours.starts_at):
        last = joined[-1] if joined else None
        if last is not None and last.says == stretch.says and last.ends_at >= stretch.starts_at:
            joined[-1] = ShutHours(last.starts_at, max(last.ends_at, stretch.ends_at), last.says)
        else:
            joined.append(stretch)
    return joined


def _fahrenheit(temp_c: float) -> float:
    return float(fahrenheit_from_celsius(temp_c))
