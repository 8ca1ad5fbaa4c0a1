"""Keep what was read of some farms while their rows are composed: the days of several are read at once."""

import datetime as dt
import logging
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from zoneinfo import ZoneInfo

from farmops.core.problems import DomainError
from farmops.digests.change_facts import hash_of
from farmops.digests.farm_facts import ShutField
from farmops.digests.models import MailReader, MailTimes, OutboxRow
from farmops.digests.selectors.changes import DayOfHands, day_of_hands, first_told_at
from farmops.digests.selectors.choices import readers_of_farms, times_of_farms
from farmops.digests.selectors.day import FarmDay, ReadFarm, farm_day, read_farms
from farmops.digests.selectors.shut import shut_fields
from farmops.digests.selectors.told import last_told_at, notices_of_farms
from farmops.farms.models import Farm, Hand
from scheduling.selectors.plans import SentPlans

logger = logging.getLogger(__name__)

COMPOSING_TROUBLE = (DomainError, ValueError, LookupError, TypeError, AttributeError, ArithmeticError)
"""What may go wrong with the facts of one farm or one person; the others' mail goes on."""

AT_ONCE = 20
"""So many farms are read together: few queries for each, and never more than that many plans in memory."""

Wanted = tuple[Farm, dt.date]


class FarmDays:
    """The days of some farms, each read once for all its rows.

    Who says beforehand which days are wanted, in which order, has them read some at a time; the next ones push them out.
    """

    def __init__(self) -> None:
        self._ahead: list[Wanted] = []
        self._read: dict[tuple[int, dt.date], _FarmRead] = {}
        self._usual = MailReader()

    def expect(self, wanted: Iterable[Wanted]) -> None:
        """Say which days of farms will be asked for, in about that order."""
        self._ahead = list(dict.fromkeys(wanted))

    def of(self, farm: Farm, day: dt.date) -> FarmDay:
        """Return a day of a farm."""
        return self._farm(farm, day).facts

    def shut(self, farm: Farm, day: dt.date) -> tuple[ShutField, ...] | None:
        """Return what is shut on a farm's day."""
        return self._farm(farm, day).shut

    def of_hands(self, farm: Farm, day: dt.date, at: dt.datetime | None = None) -> DayOfHands:
        """Return what hands are to do on a day in short, as it stands or as it stood at an instant."""
        return self._farm(farm, day).of_hands(at)

    def first_told_at(self, farm: Farm, day: dt.date, began: dt.datetime) -> dt.datetime:
        """Return the instant against which a day is told as changed."""
        return self._farm(farm, day).first_told_at(began)

    def reader_of(self, farm: Farm, day: dt.date, hand: Hand) -> MailReader:
        """Return what a hand is used to, the default where the hand did not say."""
        return self._farm(farm, day).together.readers.get(hand.pk) or self._usual

    def changed_since_evening(self, farm: Farm, hand: Hand, day: dt.date) -> bool:
        """Say whether a newer plan than that of the evening before gives a hand other work than the hand was last told."""
        read = self._farm(farm, day)
        since = read.last_told_at(hand)
        if read.plan_no_at(since) in (None, read.facts.plan_number):
            return False
        return hash_of(read.of_hands(None).of(hand.pk)) != hash_of(read.of_hands(since).of(hand.pk))

    def read_beside(self, farm: Farm, day: dt.date) -> Sequence[Farm]:
        """Return the farms whose day was read together with that of a farm: what else is read can be read for all."""
        return self._farm(farm, day).together.farms

    def _farm(self, farm: Farm, day: dt.date) -> "_FarmRead":
        found = self._read.get((farm.pk, day))
        if found is None:
            together = self._next(farm, day)
            days = {} if len(together.farms) > 1 else self._days_of(farm)
            self._read = days | {(one.pk, day): _FarmRead(one, day, together) for one in together.farms}
            found = self._read[farm.pk, day]
        return found

    def _days_of(self, farm: Farm) -> dict[tuple[int, dt.date], "_FarmRead"]:
        return {key: one for key, one in self._read.items() if key[0] == farm.pk}

    def _next(self, farm: Farm, day: dt.date) -> "_Together":
        """Take a farm, with those of the next farms that are expected on the same day."""
        if (farm, day) not in self._ahead:
            return _Together([farm], day)
        after = self._ahead[self._ahead.index((farm, day)) :]
        return _Together([one for one, its_day in after if its_day == day][:AT_ONCE], day)


class _Together:
    """The day of some farms: each kind of thing is read when it is first asked for, for all of them."""

    def __init__(self, farms: Sequence[Farm], day: dt.date) -> None:
        self.farms, self.day = farms, day
        self._ids = [one.pk for one in farms]

    @cached_property
    def days(self) -> Mapping[int, ReadFarm]:
        try:
            return read_farms(farms=self.farms, day=self.day)
        except COMPOSING_TROUBLE:
            logger.warning("Some farms cannot be read together; each is read by itself.")
            return {}

    @cached_property
    def times(self) -> Mapping[int, MailTimes]:
        return times_of_farms(farms=self.farms)

    @cached_property
    def readers(self) -> Mapping[int, MailReader]:
        return readers_of_farms(farms=self._ids)

    @cached_property
    def notices(self) -> Mapping[int, Mapping[int, Sequence[OutboxRow]]]:
        return notices_of_farms(farms=self._ids, day=self.day - dt.timedelta(days=1))

    @cached_property
    def sent(self) -> SentPlans:
        return SentPlans(farms=self.farms, day=self.day)


@dataclass
class _FarmRead:
    """A day of one farm: what was read of it, and what is made from that when it is asked for."""

    farm: Farm
    day: dt.date
    together: _Together
    _facts: FarmDay | None = None
    _shut: tuple[tuple[ShutField, ...] | None] | None = None
    _hands: dict[dt.datetime | None, DayOfHands] = field(default_factory=dict)
    _first_told: dict[dt.datetime, dt.datetime] = field(default_factory=dict)
    _plan_nos: dict[dt.datetime, int | None] = field(default_factory=dict)
    _began_at: dt.datetime | None = None

    @property
    def facts(self) -> FarmDay:
        if self._facts is None:
            self._facts = farm_day(farm=self.farm, day=self.day, read=self.together.days.get(self.farm.pk))
        return self._facts

    @property
    def shut(self) -> tuple[ShutField, ...] | None:
        if self._shut is None:
            planned = {slip.pass_id for slips in self.facts.slips.values() for slip in slips}
            self._shut = (shut_fields(farm=self.farm, day=self.day, planned=planned),)
        return self._shut[0]

    def of_hands(self, at: dt.datetime | None) -> DayOfHands:
        if at not in self._hands:
            self._hands[at] = day_of_hands(farm=self.farm, day=self.day, at=at)
        return self._hands[at]

    def first_told_at(self, began: dt.datetime) -> dt.datetime:
        if began not in self._first_told:
            self._first_told[began] = first_told_at(farm=self.farm, day=self.day, began=began)
        return self._first_told[began]

    def last_told_at(self, hand: Hand) -> dt.datetime:
        """Return when a hand was last told of the day: by a notice of the evening before, else as that evening began."""
        if self._began_at is None:
            hour = self.together.times[self.farm.pk].notice_at
            eve = self.day - dt.timedelta(days=1)
            began = dt.datetime.combine(eve, hour, tzinfo=ZoneInfo(self.farm.zone))
            self._began_at = began.astimezone(dt.UTC)
        told = self.together.notices.get(self.farm.pk, {}).get(hand.pk)
        return (last_told_at(told) if told else None) or self._began_at

    def plan_no_at(self, instant: dt.datetime) -> int | None:
        """Return the number of the plan that ruled the day at an instant."""
        if instant not in self._plan_nos:
            self._plan_nos[instant] = self.together.sent.number(farm=self.farm, at=instant)
        return self._plan_nos[instant]
