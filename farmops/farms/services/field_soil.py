"""The soil of a field as somebody at a desk describes it: one kind, or several that share its acres."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.farms.models import Field, SoilZone
from farmops.farms.services.cell_values import plain_word
from farmops.farms.services.facts import FactRefused, FactTaken, change_fact
from farmops.science.textures import TEXTURES

MOST_NAME = 40


@dataclass(frozen=True)
class Soil:
    """One kind of soil of a field: `pk` of the zone that it is, or None where it is new; more than 0 to 100 percent."""

    pk: int | None
    name: str
    texture: str
    share_pct: Decimal


@transaction.atomic
def describe_soil(*, field: Field, soils: Sequence[Soil]) -> bool:
    """Bring the zones of a field to what is told and return whether anything changed; what was measured of one stays.

    A zone may get another name; one that is not told goes, unless something was said about it. Raises FactRefused or
    FactTaken; the keys of `fields` name the place in `soils` by its number from 0: name-0, texture-1.
    """
    Field.objects.select_for_update().get(pk=field.pk)  # two who describe it wait for each other
    known = {zone.pk: zone for zone in SoilZone.objects.filter(field=field)}
    _refuse_odd(soils, set(known))
    told = [(one.pk, one.name, one.texture, one.share_pct) for one in soils]
    if told == [(zone.pk, zone.name, zone.texture, zone.share_pct) for zone in known.values()]:
        return False
    renamed = [
        (known[one.pk], one.name) for one in soils if one.pk is not None and known[one.pk].name != one.name
    ]
    kept = {one.pk for one in soils}
    staying = {zone.name for zone in known.values() if zone.pk not in kept}
    for number, one in enumerate(soils):
        if one.name in staying:
            raise FactTaken(
                _("{name} is the name of a soil that would go: change its row instead.").format(
                    name=one.name
                ),
                fields={f"name-{number}": one.name},
            )
    for zone, _name in renamed:  # names may change places, and no two may be the same at any time
        SoilZone.objects.filter(pk=zone.pk).update(name=f"~{zone.pk}")
    for zone, name in renamed:
        SoilZone.objects.filter(pk=zone.pk).update(name=name)
    zones = [{"name": one.name, "texture": one.texture, "share_pct": one.share_pct} for one in soils]
    change_fact(row=field, values={"zones": zones})
    return True


def _refuse_odd(soils: Sequence[Soil], known: set[int]) -> None:
    names: set[str] = set()
    for number, one in enumerate(soils):
        if one.pk is not None and one.pk not in known:
            says = _("This soil is not there any more. Look at the page once more.")
            raise FactTaken(says, fields={f"name-{number}": "gone"})
        if not 0 < len(one.name) <= MOST_NAME:
            says = _("A soil has a name of 1 to {most} signs.").format(most=MOST_NAME)
            raise FactRefused(says, fields={f"name-{number}": one.name})
        if plain_word(one.name) in names:
            raise FactRefused(_("Two zones have one name."), fields={f"name-{number}": one.name})
        if one.texture not in TEXTURES:
            raise FactRefused(_("Choose a texture of the list."), fields={f"texture-{number}": one.texture})
        if not 0 < one.share_pct <= 100 or one.share_pct != round(one.share_pct, 2):
            says = _("A share is more than 0 and at most 100 percent, to the hundredth.")
            raise FactRefused(says, fields={f"share_pct-{number}": f"{one.share_pct}"})
        names.add(plain_word(one.name))
