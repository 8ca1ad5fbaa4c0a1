"""The version of a farm's week: it changes with every plan made or sent and with every hold, and with nothing else."""

import hashlib
import json

from farmops.farms.models import Farm
from scheduling.models import FieldPass, PlanState, WeekPlan
from scheduling.selectors.passes import OPEN_STATES

DIGITS = 12


def week_version(*, farm: Farm) -> str:
    """Return the version of a farm's week as a short text without a quotation mark, fit for an entity tag (RFC 9110)."""
    newest = WeekPlan.objects.filter(farm=farm).order_by("-number").values_list("number", flat=True).first()
    sent = WeekPlan.objects.filter(farm=farm, state=PlanState.SENT).values_list("number", flat=True).first()
    held = FieldPass.objects.filter(farm=farm, state__in=OPEN_STATES).order_by("id")
    held = held.exclude(fixed_from=None, fixed_outfit="")
    holds = [
        [key, starts_at.isoformat() if starts_at is not None else "", outfit]
        for key, starts_at, outfit in held.values_list("id", "fixed_from", "fixed_outfit")
    ]
    told = json.dumps([newest or 0, sent or 0, holds])
    return f"{newest or 0}-{hashlib.sha256(told.encode()).hexdigest()[:DIGITS]}"
