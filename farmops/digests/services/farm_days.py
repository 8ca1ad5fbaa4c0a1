"""Keep what was read of one farm while its rows are composed."""

import datetime as dt

from farmops.digests.farm_facts import ShutField
from farmops.digests.models import MailReader, Units
from farmops.digests.selectors.changes import DayOfHands, day_of_hands
from farmops.digests.selectors.day import FarmDay, farm_day
from farmops.digests.selectors.shut import shut_fields
from farmops.farms.models import Farm, Hand


class FarmDays:
    """The days of one farm, each read once for all its rows; the next farm's push them out."""

    def __init__(self) -> None:
        self._farm_id: int | None = None
        self._read: dict[dt.date, FarmDay] = {}
        self._shut: dict[dt.date, tuple[ShutField, ...] | None] = {}
        self._hands: dict[tuple[dt.date, dt.datetime | None], DayOfHands] = {}
        self._units: dict[int | None, str] | None = None

    def of(self, farm: Farm, day: dt.date) -> FarmDay:
        """Return a day of a farm."""
        self._turn_to(farm)
        if day not in self._read:
            self._read[day] = farm_day(farm=farm, day=day)
        return self._read[day]

    def shut(self, farm: Farm, day: dt.date) -> tuple[ShutField, ...] | None:
        """Return what is shut on a farm's day."""
        facts = self.of(farm, day)
        if day not in self._shut:
            planned = {slip.pass_id for slips in facts.slips.values() for slip in slips}
            self._shut[day] = shut_fields(farm=farm, day=day, planned=planned)
        return self._shut[day]

    def of_hands(self, farm: Farm, day: dt.date, at: dt.datetime | None = None) -> DayOfHands:
        """Return what hands are to do on a day in short, as it stands or as it stood at an instant."""
        self._turn_to(farm)
        if (day, at) not in self._hands:
            self._hands[day, at] = day_of_hands(farm=farm, day=day, at=at)
        return self._hands[day, at]

    def units_of(self, farm: Farm, hand: Hand) -> str:
        """Return the units that a hand reads."""
        self._turn_to(farm)
        if self._units is None:
            readers = MailReader.objects.filter(farm=farm, hand__isnull=False)
            self._units = dict(readers.values_list("hand_id", "units"))
        return self._units.get(hand.pk, Units.CUSTOMARY)

    def _turn_to(self, farm: Farm) -> None:
        if farm.pk != self._farm_id:
            self._farm_id, self._read, self._shut, self._hands = farm.pk, {}, {}, {}
            self._units = None
