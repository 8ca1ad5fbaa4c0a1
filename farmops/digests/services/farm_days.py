"""Keep what was read of one farm while its rows are composed."""

import datetime as dt
from zoneinfo import ZoneInfo

from farmops.digests.change_facts import hash_of
from farmops.digests.farm_facts import ShutField
from farmops.digests.models import MailReader, Units
from farmops.digests.selectors.changes import DayOfHands, day_of_hands, first_told_at
from farmops.digests.selectors.choices import mail_times
from farmops.digests.selectors.day import FarmDay, farm_day
from farmops.digests.selectors.shut import shut_fields
from farmops.digests.selectors.told import last_told_at, notices_of_day
from farmops.farms.models import Farm, Hand
from scheduling.selectors.plans import plan_number_of_day


class FarmDays:
    """The days of one farm, each read once for all its rows; the next farm's push them out."""

    def __init__(self) -> None:
        self._farm_id: int | None = None
        self._read: dict[dt.date, FarmDay] = {}
        self._shut: dict[dt.date, tuple[ShutField, ...] | None] = {}
        self._hands: dict[tuple[dt.date, dt.datetime | None], DayOfHands] = {}
        self._units: dict[int | None, str] | None = None
        self._evening: _Evening | None = None
        self._first_told: dict[tuple[dt.date, dt.datetime], dt.datetime] = {}

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

    def first_told_at(self, farm: Farm, day: dt.date, began: dt.datetime) -> dt.datetime:
        """Return the instant against which a day is told as changed."""
        self._turn_to(farm)
        if (day, began) not in self._first_told:
            self._first_told[day, began] = first_told_at(farm=farm, day=day, began=began)
        return self._first_told[day, began]

    def units_of(self, farm: Farm, hand: Hand) -> str:
        """Return the units that a hand reads."""
        self._turn_to(farm)
        if self._units is None:
            readers = MailReader.objects.filter(farm=farm, hand__isnull=False)
            self._units = dict(readers.values_list("hand_id", "units"))
        return self._units.get(hand.pk, Units.CUSTOMARY)

    def changed_since_evening(self, farm: Farm, hand: Hand, day: dt.date) -> bool:
        """Say whether a newer plan than that of the evening before gives a hand other work than the hand was last told."""
        self._turn_to(farm)
        if self._evening is None or self._evening.day != day:
            self._evening = _Evening(farm, day)
        since = self._evening.last_told_at(hand)
        newest = self.of(farm, day).plan_number
        if self._evening.plan_no_at(since) in (None, newest):
            return False
        now, before = self.of_hands(farm, day), self.of_hands(farm, day, since)
        return hash_of(now.of(hand.pk)) != hash_of(before.of(hand.pk))

    def _turn_to(self, farm: Farm) -> None:
        if farm.pk != self._farm_id:
            self._farm_id, self._read, self._shut, self._hands = farm.pk, {}, {}, {}
            self._units, self._evening, self._first_told = None, None, {}


class _Evening:
    """The evening before a day of one farm: when each hand was last told of it, and which plan ruled it then."""

    def __init__(self, farm: Farm, day: dt.date) -> None:
        self.farm, self.day = farm, day
        eve = day - dt.timedelta(days=1)
        hour = mail_times(farm=farm).notice_at
        self._began_at = dt.datetime.combine(eve, hour, tzinfo=ZoneInfo(farm.zone)).astimezone(dt.UTC)
        self._told = notices_of_day(farm=farm, day=eve)
        self._plan_nos: dict[dt.datetime, int | None] = {}

    def last_told_at(self, hand: Hand) -> dt.datetime:
        """Return when a hand was last told of the day: by a notice, else as the evening began."""
        return last_told_at(self._told.get(hand.pk, [])) or self._began_at

    def plan_no_at(self, instant: dt.datetime) -> int | None:
        """Return the number of the plan that ruled the day at an instant."""
        if instant not in self._plan_nos:
            self._plan_nos[instant] = plan_number_of_day(farm=self.farm, day=self.day, at=instant)
        return self._plan_nos[instant]
