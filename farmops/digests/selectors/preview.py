"""Say who would get a sheet, without making or sending one."""

import datetime as dt
from collections.abc import Iterable

from farmops.digests.facts import SheetDay
from farmops.digests.page import lay_out, subject_of
from farmops.digests.selectors.day import farm_day, sheet_day
from farmops.digests.selectors.outbox import rows_of_day
from farmops.farms.models import Farm, Hand


def preview(*, farm: Farm, day: dt.date) -> Iterable[str]:
    """Yield a line for each hand with tasks that day: who, where to, the subject, and how far the row got."""
    facts = farm_day(farm=farm, day=day)
    states = {row.hand_id: row.get_state_display() for row in rows_of_day(farm=farm, day=day)}
    for hand in Hand.objects.filter(farm=farm, pk__in=facts.busy).order_by("code"):
        sheet: SheetDay = sheet_day(facts=facts, hand=hand, language=hand.language)
        address = hand.email or "no address: for the shop door"
        yield f"{hand.code} <{address}> {subject_of(lay_out(sheet, hand.language))} [{states.get(hand.pk, 'not made')}]"
