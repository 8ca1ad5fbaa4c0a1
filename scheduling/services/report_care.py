"""Taking a hand's report of a service: what was done, at what meter, with what parts."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.farms.models import CareRule, Farm, Hand
from scheduling.models import CareDone, FieldReport, PlannedCare
from scheduling.selectors.care import standing_care
from scheduling.services.care import LONGEST_PARTS, MOST_CENTS, record_service
from scheduling.services.record_rules import DAY_MIN
from scheduling.services.refusals import BadRecord, NotThisFarm
from scheduling.services.report_body import BodyReader
from scheduling.services.report_takes import Flag, repeats

CENTS = 100
SAME_TIME = dt.timedelta(hours=12)
"""Farm judgement: hardly a service comes round twice within half a day."""


def take(
    *,
    farm: Farm,
    hand: Hand,
    report: FieldReport,
    body: dict[str, Any],
    now: dt.datetime,
    sent_by: User | None,
) -> Flag | None:
    """Keep a service, named by its stop in a plan or by its rule's code, and the meter reading as one of its own.

    Without an hour it was done when the report was made.
    """
    reader = BodyReader(body, farm.zone)
    stop_id = reader.whole_if_any("stop_id")
    code = reader.text("rule", most=40)
    hand_min = reader.whole("minutes", most=DAY_MIN)
    meter_h = reader.number_if_any("meter", decimals=1)
    parts = reader.text("parts", most=LONGEST_PARTS)
    dollars = reader.number_if_any("parts_dollars", most=Decimal(MOST_CENTS // CENTS), decimals=2)
    note = reader.text("note")
    done_at = reader.instant_if_any("done_at") or report.stands_at
    reader.finish()
    done, _is_new = record_service(
        farm=farm,
        client_id=report.client_id,
        rule=_rule(farm, stop_id, code),
        done_at=done_at,
        meter_h=meter_h,
        hand=hand,
        hand_min=hand_min,
        parts=parts,
        parts_cents=None if dollars is None else int(dollars * CENTS),
        note=note,
        recorded_by=sent_by,
        now=now,
    )
    return _told_twice(done)


def _told_twice(done: CareDone) -> Flag | None:
    """Flag a service that was kept about that time already: two who did it together may both have told of it."""
    near = (done.done_at - SAME_TIME, done.done_at + SAME_TIME)
    rows = standing_care(farm=done.farm).filter(rule=done.rule, done_at__range=near).exclude(pk=done.pk)
    return repeats(rows.select_related("hand").first())


def _rule(farm: Farm, stop_id: int | None, code: str) -> CareRule:
    """Return the rule that a report names; by its stop if it names both."""
    if stop_id is not None:
        stop = PlannedCare.objects.select_related("rule__machine").filter(farm=farm, pk=stop_id).first()
        if stop is None:
            raise NotThisFarm(
                _("{farm} has no such service stop.").format(farm=farm.name), fields={"stop_id": "not known"}
            )
        return stop.rule
    if not code:
        raise BadRecord(_("The report does not say which service was done."), fields={"rule": "missing"})
    rule = CareRule.objects.select_related("machine").filter(farm=farm, code=code).first()
    if rule is None:
        raise NotThisFarm(
            _("{farm} has no service {code}.").format(farm=farm.name, code=code), fields={"rule": "not known"}
        )
    return rule
