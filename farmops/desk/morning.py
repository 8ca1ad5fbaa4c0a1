"""The morning round: the grower's word and gauge of every field, kept together, and the days planned anew from them."""

import datetime as dt
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, TypeVar

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.core.keeping import ClientIdReused
from farmops.core.models import LongWork, User
from farmops.core.problems import DomainError
from farmops.desk.anew import newest_number
from farmops.desk.days import day_to_plan_again
from farmops.desk.long_work import begin_plan
from farmops.farms.models import Farm, Field, SoilZone
from farmops.weather.services.field_readings import record_gauge
from scheduling.models import WeekPlan
from scheduling.services.say_so import say_so

Kept = TypeVar("Kept")
SHORT_SECONDS = 4.0
"""Farm judgement: with a hand on the door no one waits longer for a plan; the week page searches longer."""
KEPT_BEFORE = gettext_noop(
    "This was kept before with something else in it. Press once more to keep it as it stands now."
)


class MorningRefused(DomainError):
    """Something of a morning's round cannot be; nothing of it is kept, and `fields` says what at each box."""

    code = "morning_refused"


@dataclass(frozen=True)
class Word:
    """What the grower says of a field, or of one zone of it; `box` is where it was said."""

    box: str
    field: Field
    zone: SoilZone | None
    word: str
    after_at: dt.time | None = None


@dataclass(frozen=True)
class Rain:
    """Inches in the gauge of a field; `box` is where they were typed."""

    box: str
    field: Field
    rain_in: Decimal


@dataclass
class Count:
    """How many words and gauge readings are new."""

    words: int = 0
    gauges: int = 0


@dataclass(frozen=True)
class Round:
    """What became of a morning's round: how much was kept, and the planning that was begun, or why none was.

    Where the same round was kept before and a plan was made since, `plan` is that plan, and nothing is begun.
    """

    kept: Count
    work: LongWork | None = None
    plan: WeekPlan | None = None
    refused: DomainError | None = None
    was_kept_before: bool = False


def keep_and_plan(
    *,
    farm: Farm,
    day: dt.date,
    rain_on: dt.date,
    words: Sequence[Word],
    rains: Sequence[Rain],
    form_id: uuid.UUID,
    said_by: User,
    seen: int,
    now: dt.datetime,
) -> Round:
    """Keep a morning's words and gauges, all or none, then have the days planned anew from today (or the week that begins).

    `seen` is the newest plan that the form's page knew: a form sent twice keeps nothing new, and where a plan was made
    since, that one is the answer; where it is still being worked out, the same planning is. Raises MorningRefused with a
    sentence at each box that cannot be.
    """
    kept = keep(
        farm=farm,
        day=day,
        rain_on=rain_on,
        words=words,
        rains=rains,
        form_id=form_id,
        said_by=said_by,
        now=now,
    )
    newest = newest_number(farm=farm)
    was_kept_before = kept == Count() and bool(words or rains)
    if was_kept_before and newest > seen:
        made = WeekPlan.objects.get(farm=farm, number=newest)
        return Round(kept, plan=made, was_kept_before=True)
    first_on = day_to_plan_again(farm=farm, now=now)
    try:
        work = begin_plan(
            farm=farm, first_on=first_on, seconds=SHORT_SECONDS, asked_by=said_by, after=form_id, now=now
        )
    except DomainError as error:
        return Round(kept, refused=error, was_kept_before=was_kept_before)
    return Round(kept, work, was_kept_before=was_kept_before)


@transaction.atomic
def keep(
    *,
    farm: Farm,
    day: dt.date,
    rain_on: dt.date,
    words: Sequence[Word],
    rains: Sequence[Rain],
    form_id: uuid.UUID,
    said_by: User,
    now: dt.datetime,
) -> Count:
    """Keep a morning's words and gauges in one transaction and return how many are new.

    Each row is known by the form and its box. Raises MorningRefused for all that cannot be.
    """
    wrong: dict[str, str] = {}
    kept = Count()
    for one in words:
        row = _kept(
            wrong,
            one.box,
            say_so,
            farm=farm,
            field=one.field,
            zone=one.zone,
            day=day,
            word=one.word,
            after_at=one.after_at,
            said_by=said_by,
            client_id=uuid.uuid5(form_id, one.box),
            now=now,
        )
        kept.words += row is not None and row.said_at == now
    for rain in rains:
        gauge = _kept(
            wrong,
            rain.box,
            record_gauge,
            farm=farm,
            field=rain.field,
            day=rain_on,
            rain_in=rain.rain_in,
            client_id=uuid.uuid5(form_id, rain.box),
            recorded_by=said_by,
            now=now,
        )
        kept.gauges += gauge is not None and gauge[1]
    if wrong:
        raise MorningRefused(_("Nothing is kept yet: look at the rows that are marked."), fields=wrong)
    return kept


def _kept(wrong: dict[str, str], box: str, keep_one: Callable[..., Kept], **facts: Any) -> Kept | None:
    try:
        return keep_one(**facts)
    except ClientIdReused:
        wrong[box] = _(KEPT_BEFORE)
    except DomainError as error:
        wrong[box] = error.says
    return None
