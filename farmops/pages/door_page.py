"""What the sheets for the shop door show: one for each hand who works that day, and one with all of them."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.digests.door import DoorPage, door_page
from farmops.digests.models import Units
from farmops.digests.page import lay_out
from farmops.digests.selectors.choices import mail_times, reader_of
from farmops.digests.selectors.day import FarmDay, farm_day, sheet_day
from farmops.digests.services.door_codes import code_of, make_door_code, standing_code
from farmops.digests.services.reporting_at import plain_address
from farmops.digests.text import as_text
from farmops.farms.models import Farm, Hand
from farmops.pages import words


@dataclass(frozen=True)
class ShownSheet:
    """One hand's sheet: as it hangs on the door, and as text to copy into a message."""

    hand_id: int
    name: str
    door: DoorPage
    text: str
    line_count: int


def door_facts(*, farm: Farm, day: dt.date, now: dt.datetime) -> dict[str, Any]:
    """Return the sheets of a day. Nothing is written: codes are made when somebody asks for them."""
    facts = farm_day(farm=farm, day=day)
    hands = Hand.objects.filter(farm=farm, pk__in=facts.busy).select_related("farm").order_by("name")
    sheets = [_sheet(facts, hand, now) for hand in hands]
    makes = makes_codes(farm=farm) and day >= local_date(now, farm.zone)
    return {
        "day": day,
        "day_said": words.capital(words.long_date(day)),
        "before": day - dt.timedelta(days=1),
        "after": day + dt.timedelta(days=1),
        "headline": _headline(len(sheets), day),
        "sheets": sheets,
        "has_codes": any(one.door.code for one in sheets),
        "lacks_codes": makes and any(not one.door.code for one in sheets),
        "has_address": bool(settings.SITE_ADDRESS),
    }


def make_codes(*, farm: Farm, day: dt.date, now: dt.datetime) -> None:
    """Make the codes that the sheets of a day lack."""
    facts = farm_day(farm=farm, day=day)
    for hand in Hand.objects.filter(farm=farm, pk__in=facts.busy, works=True):
        make_door_code(farm=farm, hand=hand, day=day, now=now)


def makes_codes(*, farm: Farm) -> bool:
    """Say whether sheets for the door hold codes: the farm has not turned them off, and phones can reach the pages."""
    return bool(settings.SITE_ADDRESS) and mail_times(farm=farm).has_door_codes


def _sheet(facts: FarmDay, hand: Hand, now: dt.datetime) -> ShownSheet:
    farm, language = facts.farm, hand.language
    made = standing_code(farm=farm, hand=hand, day=facts.day, now=now) if makes_codes(farm=farm) else None
    code = code_of(made) if made is not None else ""
    typed_at = f"{settings.SITE_ADDRESS}/c/"
    day = sheet_day(
        facts=facts,
        hand=hand,
        language=language,
        report_at=plain_address(farm=farm).address,
        is_metric=reader_of(farm=farm, person=hand).units == Units.METRIC,
    )
    text = as_text(lay_out(day, language))
    door = door_page(
        day,
        language,
        code=code,
        code_address=f"{typed_at}{code.upper()}/" if code else "",
        typed_at=typed_at.split("://", 1)[-1],
    )
    return ShownSheet(hand.pk, hand.name, door, text, min(24, text.count("\n") + 1))


def _headline(count: int, day: dt.date) -> str:
    if not count:
        return _("Nobody works on {day}: there is no sheet to print.").format(day=words.long_date(day))
    told = ngettext("{count} sheet to print for {day}.", "{count} sheets to print for {day}.", count)
    return words.one_stop(told.format(count=words.capital(words.count_word(count)), day=words.long_date(day)))
