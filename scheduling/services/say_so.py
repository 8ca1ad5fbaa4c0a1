"""The grower's own word on a field this morning."""

import datetime as dt
import uuid
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.keeping import holds, keep_once
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Field, SoilZone
from scheduling.models import SaySo, SaySoWord

FARTHEST_DAYS = 366  # farm judgement: a word on a day further off is a slip of the pen


class SaySoRefused(DomainError):
    """The word does not make sense as it was said."""

    code = "say_so_refused"
    kind = Kind.INVALID


def say_so(
    *,
    farm: Farm,
    field: Field,
    zone: SoilZone | None = None,
    day: dt.date,
    word: str,
    after_at: dt.time | None = None,
    said_by: Any,
    client_id: uuid.UUID | None = None,
    now: dt.datetime,
) -> SaySo:
    """Keep the grower's word as `record_say_so` does, and return it."""
    said, _is_new = record_say_so(
        farm=farm,
        field=field,
        zone=zone,
        day=day,
        word=word,
        after_at=after_at,
        said_by=said_by,
        client_id=client_id,
        now=now,
    )
    return said


def record_say_so(
    *,
    farm: Farm,
    field: Field,
    zone: SoilZone | None = None,
    day: dt.date,
    word: str,
    after_at: dt.time | None = None,
    said_by: Any,
    client_id: uuid.UUID | None = None,
    now: dt.datetime,
) -> tuple[SaySo, bool]:
    """Keep the grower's word on a field, or on one zone of it, for a day; False if it was kept before.

    The newest word of the day counts. With `client_id`, the same word sent again is the same row. Raises SaySoRefused for an unknown word, an hour that
    is missing or too much, a day more than a year off, or another farm's ground; ClientIdReused for an id that came
    with another word before.
    """
    if word not in SaySoWord.values:
        known = ", ".join(SaySoWord.values)
        raise SaySoRefused(
            _("The word {word} is not known; it is one of {known}.").format(word=repr(word), known=known),
            fields={"word": f"one of {known}"},
        )
    if word == SaySoWord.AFTER and after_at is None:
        raise SaySoRefused(_("Say after which hour."), fields={"after_at": "is missing"})
    if word != SaySoWord.AFTER and after_at is not None:
        raise SaySoRefused(
            _("An hour goes with 'after', not with {word}.").format(word=repr(word)),
            fields={"after_at": "only with 'after'"},
        )
    if abs((day - local_date(now, farm.zone)).days) > FARTHEST_DAYS:
        raise SaySoRefused(
            _("{day} is more than a year off.").format(day=day), fields={"day": "more than a year off"}
        )
    if field.farm_id != farm.pk:
        raise SaySoRefused(
            _("{farm} has no field {field}.").format(farm=farm.name, field=repr(field.code)),
            fields={"field": "is not this farm's"},
        )
    if zone is not None and zone.field_id != field.pk:
        raise SaySoRefused(
            _("The field {field} has no zone {zone}.").format(field=repr(field.code), zone=repr(zone.name)),
            fields={"zone": "is not this field's"},
        )
    facts = {"field": field, "zone": zone, "day": day, "word": word, "after_at": after_at, "said_by": said_by}

    def make() -> SaySo:
        return SaySo.objects.create(farm=farm, client_id=client_id, said_at=now, **facts)

    if client_id is None:
        return make(), True
    rows = SaySo.objects.filter(farm=farm, client_id=client_id)
    return keep_once(rows, client_id, make, lambda kept: holds(kept, facts))


def take_back_word(*, word: SaySo) -> None:
    """Keep that a word counts no more; said twice it is the same."""
    SaySo.objects.filter(pk=word.pk).update(is_taken_back=True)
