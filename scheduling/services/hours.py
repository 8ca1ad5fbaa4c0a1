"""Saying afterwards why fewer hours were worked on a day than were offered: the record that an employer keeps needs it."""

import datetime as dt
import uuid
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.farms.models import Farm, Hand
from scheduling.models import WorkDay
from scheduling.services.fact_rules import refuse_bad_text
from scheduling.services.record_rules import FIRST_YEAR, refuse_other_farms
from scheduling.services.refusals import BadRecord

LONGEST = 200


def say_why_fewer(
    *,
    farm: Farm,
    hand: Hand,
    client_id: uuid.UUID,
    work_on: dt.date,
    why: str,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[WorkDay, bool]:
    """Keep why a hand worked fewer hours on a day that has come; return the row and False if it was kept before.

    It changes no hours: where the hand reported the day, the reason takes the last report's place with the same hours;
    where not, it is a row that tells of no hours. Raises BadRecord for no reason and for a day to come; NotThisFarm.
    """
    refuse_other_farms(farm, hand)
    refuse_bad_text("why", why, most=LONGEST, is_needed=True)
    if work_on > local_date(now, farm.zone):
        raise BadRecord(
            _("{day} has not come yet at the farm.").format(day=work_on), fields={"work_on": "in the future"}
        )
    if work_on.year < FIRST_YEAR:
        raise BadRecord(
            _("{day}: is the year right?").format(day=work_on), fields={"work_on": f"before {FIRST_YEAR}"}
        )
    facts: dict[str, Any] = {"hand": hand, "work_on": work_on, "why_fewer": why.strip()}

    def make() -> WorkDay:
        Hand.objects.select_for_update().get(pk=hand.pk)  # two who write of one day wait for each other
        rows = WorkDay.objects.filter(farm=farm, hand=hand, work_on=work_on, superseded_by__isnull=True)
        last = rows.order_by("id").last()
        hours = ("starts_at", "ends_at", "break_min", "offered_min", "worked_min")
        told = {name: getattr(last, name) for name in hours} if last is not None else {"worked_min": 0}
        return WorkDay.objects.create(
            farm=farm,
            client_id=client_id,
            supersedes=last,
            recorded_by=recorded_by,
            recorded_at=now,
            **told,
            **facts,
        )

    return keep_once(
        WorkDay.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )
