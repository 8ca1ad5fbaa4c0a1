"""The mark of all that a field's page says, beside the clock."""

import datetime as dt
import hashlib
from functools import lru_cache
from typing import Any

from django.db import connection
from django.db.models import Q

from farmops.core.models import User
from farmops.farms.models import Farm, Field
from farmops.pages.field_page import DAYS_AHEAD
from farmops.weather.models import GaugeReading, SoilReading
from scheduling.models import FieldPass, PassLink, Remark, SaySo
from scheduling.selectors.ground_marks import ANY_FIELD, ahead_written
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.row_marks import Marked, as_statement


def field_mark(*, farm: Farm, field: Field, first: dt.date, as_of: dt.date) -> str:
    """Return the mark of what a field's page says, whose windows begin on a day: of the ground and of all beside it."""
    last = first + dt.timedelta(days=DAYS_AHEAD - 1)
    ground = ahead_written(farm=farm, field=field, first=first, last=last, as_of=as_of)
    with connection.cursor() as cursor:
        sql, params = _statement(farm.pk, connection.vendor)
        cursor.execute(sql, tuple(field.pk if one == ANY_FIELD else one for one in params))
        marks = sorted(cursor.fetchall())
    of_farm = [str(getattr(farm, one.attname)) for one in Farm._meta.concrete_fields]
    return hashlib.sha256(repr((of_farm, ground, marks)).encode()).hexdigest()


@lru_cache(maxsize=256)
def _statement(farm_id: int, vendor: str) -> tuple[str, tuple[Any, ...]]:
    """Return the query of the marks beside the ground's, with `ANY_FIELD` where the field's row id goes."""
    open_here = FieldPass.objects.filter(farm=farm_id, season__field=ANY_FIELD, state__in=OPEN_STATES)
    links = PassLink.objects.filter(farm=farm_id).filter(Q(after__in=open_here) | Q(before__in=open_here))
    notes = {
        SaySo: "said_by",
        Remark: "said_by",
        GaugeReading: "read_by",
        SoilReading: "recorded_by",
    }
    people = Q()
    for model, who in notes.items():
        people |= Q(pk__in=model._default_manager.filter(field=ANY_FIELD).values(who))
    kinds = [
        Marked("said", SaySo.objects.filter(field=ANY_FIELD), columns=("pk",)),
        Marked("links", links, columns=("pk",)),
        Marked("before", FieldPass.objects.filter(pk__in=links.values("before")), columns=("pk",)),
        Marked("people", User.objects.filter(people).defer("last_login", "password"), columns=("pk",)),
    ]
    return as_statement([one.as_written() for one in kinds])
