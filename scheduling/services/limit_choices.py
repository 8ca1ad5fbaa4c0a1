"""Keeping what a farm chooses about a limit, on all its fields or on one."""

import datetime as dt
import math

from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field
from scheduling.models import LimitChoice
from scheduling.services.fact_rules import refuse_bad_text
from scheduling.services.record_rules import refuse_other_farms
from scheduling.windows.choices import with_choices
from scheduling.windows.limits import Choice, Effect, LimitsError
from scheduling.windows.limits_file import load_limits

LONGEST_SOURCE = 200


class LimitChoiceRefused(DomainError):
    """A choice about a limit that makes no sense, or that a label does not allow."""

    code = "limit_choice_refused"


def choose_limit(
    *,
    farm: Farm,
    field: Field | None = None,
    key: str,
    number: float | None = None,
    is_used: bool | None = None,
    effect: str = "",
    source: str,
    set_by: User | None,
    now: dt.datetime,
) -> LimitChoice:
    """Keep a farm's choice about the limit of a key; the newest of a key and field counts.

    What is left out stays as the table of limits has it; with nothing chosen the table holds again. Raises
    LimitChoiceRefused for an unknown key or effect, a number that makes no sense in the limit's unit, a choice that
    would relax what a label says; BadRecord without a source; NotThisFarm.
    """
    refuse_other_farms(farm, field)
    refuse_bad_text("source", source, most=LONGEST_SOURCE, is_needed=True)
    if effect and effect not in list(Effect):
        known = ", ".join(Effect)
        raise LimitChoiceRefused(
            _("{effect} is no effect of a limit; it is one of {known}.").format(
                effect=repr(effect), known=known
            ),
            fields={"effect": f"one of {known}"},
        )
    if number is not None and not math.isfinite(number):
        raise LimitChoiceRefused(
            _("{limit}: {number} is no number.").format(limit=key, number=number),
            fields={"number": "no number"},
        )
    choice = Choice(
        key=key,
        field=field.code if field is not None else "",
        number=number,
        is_used=is_used,
        effect=Effect(effect) if effect else None,
        source=source,
    )
    limits = load_limits()
    try:
        with_choices(limits, [choice])
    except LimitsError as error:
        given = {"number": number, "is_used": is_used, "effect": effect or None}
        is_known = key in {limit.key for limit in limits}
        at = [name for name, value in given.items() if value is not None] if is_known else ["key"]
        raise LimitChoiceRefused(str(error), fields=dict.fromkeys(at, "cannot be")) from error
    return LimitChoice.objects.create(
        farm=farm,
        field=field,
        key=key,
        number=number,
        is_used=is_used,
        effect=effect,
        source=source,
        set_by=set_by,
        set_at=now,
    )
