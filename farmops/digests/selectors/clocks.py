"""Read what every farm's clock says and when its people are to get their mail, in a few queries for all farms."""

import datetime as dt
import logging
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from farmops.core.clock import local_date
from farmops.digests.models import MailChoice, MailTimes, SheetKind
from farmops.digests.models.words import KINDS_OF_HANDS
from farmops.farms.models import Farm

logger = logging.getLogger(__name__)


@dataclass(frozen=True)
class FarmClock:
    """A farm with its day, its times, and the choices of its people by kind and by the id of the hand or user."""

    farm: Farm
    day: dt.date
    times: MailTimes
    choices: Mapping[tuple[str, int], MailChoice]

    def hour_of(self, kind: str, person_id: int | None = None) -> dt.time:
        """Return the hour of a kind of mail: the person's own, else the farm's."""
        choice = self.choices.get((kind, person_id)) if person_id is not None else None
        if choice is not None and choice.send_at is not None:
            return choice.send_at
        if kind == SheetKind.DIGEST:
            return self.times.digest_at
        if kind == SheetKind.COSTS:
            return self.times.cost_at
        return self.times.notice_at if kind == SheetKind.CHANGE else self.farm.sheet_at

    def wants(self, kind: str, person_id: int) -> bool:
        """Say whether a person wants a kind of mail at all."""
        choice = self.choices.get((kind, person_id))
        return choice is None or choice.is_wanted

    def on_empty_day(self, kind: str, person_id: int) -> str:
        """Return what a person wants on a day with nothing to do."""
        return self.choices.get((kind, person_id), MailChoice()).on_empty_day

    def instant(self, hour: dt.time, day: dt.date | None = None) -> dt.datetime:
        """Return the instant of an hour of the farm's day; an hour the clock skips counts as it would have run."""
        zone = ZoneInfo(self.farm.zone)
        return dt.datetime.combine(day or self.day, hour, tzinfo=zone).astimezone(dt.UTC)


def farm_clocks(*, now: dt.datetime, farm: Farm | None = None) -> list[FarmClock]:
    """Return every farm that has a clock, with its day at an instant; three queries, however many farms."""
    farms = [farm] if farm is not None else list(Farm.objects.order_by("pk"))
    times = {one.farm_id: one for one in MailTimes.objects.filter(farm__in=[one.pk for one in farms])}
    choices: dict[int, dict[tuple[str, int], MailChoice]] = defaultdict(dict)
    for choice in MailChoice.objects.filter(farm__in=[one.pk for one in farms]):
        person_id = choice.hand_id if choice.kind in KINDS_OF_HANDS else choice.user_id
        if person_id is not None:
            choices[choice.farm_id][choice.kind, person_id] = choice
    found = []
    for one in farms:
        try:
            day = local_date(now, one.zone)
        except (ZoneInfoNotFoundError, ValueError):
            logger.error("The farm %s has no clock: %r is not a zone.", one.code, one.zone)
            continue
        found.append(FarmClock(one, day, times.get(one.pk) or MailTimes(farm=one), choices[one.pk]))
    return found
