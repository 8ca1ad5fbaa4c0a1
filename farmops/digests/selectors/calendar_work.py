"""Read what the plans of some days have people do, as calendars show it: a hand's own work, and the farm's with its people."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from django.db.models import F

from farmops.digests.calendar_told import Told
from farmops.digests.change_facts import PlannedStop
from farmops.digests.selectors.changes import day_of_hands
from farmops.digests.squash import one_line
from farmops.digests.wording import say
from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass
from scheduling.selectors.plans import plans_of_days

MOST_NAMED = 3
"""Names that stand in the title of a piece of work; all of them stand in what it says."""


@dataclass(frozen=True)
class PlannedDays:
    """The work of some days by the hand's id, the hands, and where the work is."""

    stops: Mapping[dt.date, Mapping[int, tuple[PlannedStop, ...]]]
    hands: Mapping[int, Hand]
    places: Mapping[str, str]

    def of_hands(self) -> dict[tuple[int, str], Told]:
        """Return each hand's own work, by the hand's id and what names the work across plans."""
        found: dict[tuple[int, str], Told] = {}
        for day, of_day in self.stops.items():
            for hand_id, rows in of_day.items():
                language = self.hands[hand_id].language
                for key, stop in _numbered(day, sorted(rows, key=lambda one: one.starts_at)):
                    found[hand_id, key] = self._told(day, stop, language, stop.title.in_(language))
        return found

    def of_farm(self, language: str) -> dict[str, Told]:
        """Return the farm's work with who does it: hands who do the same in the same hours stand together."""
        found: dict[str, Told] = {}
        for day, of_day in self.stops.items():
            crews: dict[tuple[str, dt.datetime, dt.datetime], dict[str, PlannedStop]] = defaultdict(dict)
            for hand_id, rows in of_day.items():
                for stop in rows:
                    crews[_work(stop), stop.starts_at, stop.ends_at][self.hands[hand_id].name] = stop
            ordered = sorted(crews.items(), key=lambda crew: (crew[0][1], crew[0][2], crew[0][0]))
            stops = (next(iter(crew.values())) for _hours, crew in ordered)
            for (key, stop), (_hours, crew) in zip(_numbered(day, stops), ordered, strict=True):
                names = sorted(one_line(name) for name in crew)
                title = f"{stop.title.in_(language)} ({_few(names, language)})"
                found[f"day {key}"] = self._told(day, stop, language, title, names)
        return found

    def _told(
        self, day: dt.date, stop: PlannedStop, language: str, title: str, names: Iterable[str] = ()
    ) -> Told:
        said = [", ".join(names), stop.outfit.in_(language), say("sheet_has_last_word", language)]
        return Told(
            local_day=day,
            starts_at=stop.starts_at,
            ends_at=stop.ends_at,
            summary=one_line(title),
            place=self.places.get(_work(stop), ""),
            says=one_line(". ".join(part for part in said if part), longest=400),
        )


def planned_days(*, farm: Farm, first: dt.date, last: dt.date) -> PlannedDays:
    """Return what the plans that rule some days have people do."""
    days = [first + dt.timedelta(days=number) for number in range((last - first).days + 1)]
    ruled = [day for day, plan in plans_of_days(farm=farm, days=days).items() if plan is not None]
    stops = {day: day_of_hands(farm=farm, day=day).stops for day in ruled}
    hands = Hand.objects.in_bulk({hand_id for of_day in stops.values() for hand_id in of_day})
    places = _places(one for of_day in stops.values() for rows in of_day.values() for one in rows)
    return PlannedDays(stops, hands, places)


def _numbered(day: dt.date, stops: Iterable[PlannedStop]) -> Iterator[tuple[str, PlannedStop]]:
    """Yield stops in their order, each with its work, its day and its number of that work on that day."""
    numbers: Counter[str] = Counter()
    for stop in stops:
        work = _work(stop)
        numbers[work] += 1
        yield f"{work} {day.isoformat()} {numbers[work]}", stop


def _work(stop: PlannedStop) -> str:
    """Return what names the work across plans: its pass or care rule; day parts are counted anew by each plan."""
    return " ".join(stop.key.split()[:2])


def _few(names: list[str], language: str) -> str:
    if len(names) <= MOST_NAMED:
        return ", ".join(names)
    more = say("and_more", language, count=len(names) - MOST_NAMED + 1)
    return f"{', '.join(names[: MOST_NAMED - 1])} {more}"


def _places(stops: Iterable[PlannedStop]) -> dict[str, str]:
    """Return the way in and the road address of each pass's field."""
    ids = {int(_work(one).split()[1]) for one in stops if one.key.startswith("pass ")}
    fields = FieldPass.objects.filter(pk__in=ids).annotate(
        entrance=F("season__field__entrance"), road=F("season__field__road_address")
    )
    return {
        f"pass {pk}": one_line(", ".join(part for part in (entrance, road) if part), longest=300)
        for pk, entrance, road in fields.values_list("pk", "entrance", "road")
    }
