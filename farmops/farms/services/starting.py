"""Beginning a farm: the farm itself, its first manager, the people who sign in, and what grows on each field."""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.db.models import ProtectedError
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Crop, Farm, Field, Membership, Role, Season
from farmops.farms.services.cells import BadCell, Cells
from farmops.farms.services.code_names import code_of
from farmops.farms.services.facts import add_fact, change_fact
from farmops.farms.services.farm_files import FarmFacts, read_place, read_user
from farmops.farms.services.farm_rows import Row
from farmops.farms.services.loading import put_rows
from farmops.science.textures import TEXTURES

MOST_HOURS_OFF = 3
"""A clock is seldom set further from the sun than this; more is a wrong zone, or a longitude without its minus."""
PLACE = re.compile(r"\s*([+-]?[0-9]{1,3}(?:\.[0-9]{1,9})?)\s*[,; ]\s*([+-]?[0-9]{1,3}(?:\.[0-9]{1,9})?)\s*")


class StartRefused(DomainError):
    """Something of a farm that is being set up cannot be; `fields` names the box."""

    code = "start_refused"


class NotYoursToBegin(DomainError):
    """Only who runs the service begins a farm."""

    code = "not_yours_to_begin"
    kind = Kind.FORBIDDEN


@dataclass(frozen=True)
class FieldFacts:
    """What is said of one field on the page of crops and soil; None or empty leaves it as it is."""

    field_id: int
    texture: str = ""
    crop: str = ""
    planted_ac: Decimal | None = None


def place_of(text: str) -> tuple[Decimal, Decimal] | None:
    """Return latitude and longitude from a text as maps copy it, "31.4123, -83.8674"; None for what is none."""
    match = PLACE.fullmatch(text)
    if match is None:
        return None
    return round(Decimal(match[1]), 6), round(Decimal(match[2]), 6)


@transaction.atomic
def begin_farm(*, values: Mapping[str, Any], begun_by: User, now: dt.datetime) -> Farm:
    """Store a farm and make who begins it its manager. `values` has what `farm.json` says of a farm, without the code.

    Only who runs the service may. Raises StartRefused with a sentence for each box.
    """
    if not begun_by.is_superuser:
        raise NotYoursToBegin(_("Only who runs this service begins a farm."))
    taken = set(Farm.objects.values_list("code", flat=True))
    code = code_of(str(values.get("name", "")), taken=taken, otherwise="farm")
    row = _read(read_place, {"code": code, **values})
    _refuse_other_clock(row.values["zone"], row.values["longitude_deg"], now)
    farm = Farm.objects.create(**row.key, **row.values)
    Membership.objects.create(farm=farm, user=begun_by, role=Role.MANAGER)
    return farm


@transaction.atomic
def add_person(*, farm: Farm, values: Mapping[str, Any]) -> User:
    """Store somebody who signs in, without a password yet. Raises StartRefused with a sentence for each box."""
    row = _read(lambda node: read_user(node, []), values)
    if User.objects.filter(username__iexact=row.key["username"]).exists():
        says = _("somebody signs in by this name already; choose another")
        raise StartRefused(says, fields={"username": says})
    facts = FarmFacts(farm=Row(key={}, values={}), users=[row])
    put_rows(farm=farm, facts=facts)
    return User.objects.get(username=row.key["username"])


def waits_for_password(*, farm: Farm) -> list[User]:
    """Return who was taken on by this farm alone and has chosen no password yet."""
    here = User.objects.filter(memberships__farm=farm, is_superuser=False, password__startswith="!")
    elsewhere = Membership.objects.exclude(farm=farm).values("user_id")
    mine = here.exclude(pk__in=elsewhere).exclude(username__startswith="link:").distinct()
    return list(mine.order_by("username"))


def welcome_of(*, farm: Farm, user_id: int) -> tuple[User, str, str]:
    """Return who was taken on, and the two words of an address where he or she chooses a password; it works once.

    Only for who has none yet and belongs to this farm alone, so that nobody takes over an account in use.
    """
    user = next((one for one in waits_for_password(farm=farm) if one.pk == user_id), None)
    if user is None:
        raise StartRefused(_("There is nobody of this farm who waits for a password."))
    return user, urlsafe_base64_encode(force_bytes(user.pk)), default_token_generator.make_token(user)


@transaction.atomic
def set_field_facts(*, farm: Farm, crop_year: int, facts: Sequence[FieldFacts]) -> int:
    """Store the soil, the acres and the crop of fields, all of them or none; return how many fields changed.

    A field's crop of the year is changed only while no work hangs on it. Raises StartRefused.
    """
    fields = {
        one.pk: one
        for one in Field.objects.filter(farm=farm, pk__in=[one.field_id for one in facts])
        .select_related("farm")
        .prefetch_related("zones")
    }
    seasons = {
        season.field_id: season for season in Season.objects.filter(farm=farm, crop_year=crop_year, part="")
    }
    changed = 0
    for one in facts:
        field = fields.get(one.field_id)
        if field is None:
            raise StartRefused(_("A field of this list is not there any more."))
        before = (field.planted_ac, seasons.get(field.pk))
        is_changed = _set_soil(field, one.texture)
        if one.planted_ac is not None and one.planted_ac != field.planted_ac:
            change_fact(row=field, values={"planted_ac": one.planted_ac})
            is_changed = True
        is_changed |= _set_crop(field, seasons.get(field.pk), one.crop, crop_year, acres_before=before[0])
        changed += is_changed
    return changed


def _set_soil(field: Field, texture: str) -> bool:
    zones = list(field.zones.all())
    if not texture or len(zones) != 1 or zones[0].texture == texture:
        return False
    if texture not in TEXTURES:
        raise StartRefused(_("Choose a texture of the list."), fields={f"texture-{field.pk}": texture})
    change_fact(
        row=field, values={"zones": [{"name": zones[0].name, "texture": texture, "share_pct": Decimal(100)}]}
    )
    return True


def _set_crop(
    field: Field, season: Season | None, crop: str, crop_year: int, *, acres_before: Decimal
) -> bool:
    if season is not None and (not crop or season.crop == crop):
        if season.area_ac == acres_before and season.area_ac != field.planted_ac:
            change_fact(row=season, values={"area_ac": field.planted_ac})
            return True
        return False
    if not crop:
        return False
    if crop not in Crop.values:
        raise StartRefused(_("Choose a crop of the list."), fields={f"crop-{field.pk}": crop})
    if season is not None:
        try:
            season.delete()
        except ProtectedError as error:
            says = _("{field} has work for its {crop} already; call that off first").format(
                field=field.name, crop=_(season.get_crop_display())
            )
            raise StartRefused(f"{says}.", fields={f"crop-{field.pk}": says}) from error
    add_fact(
        farm=field.farm,
        model=Season,
        values={"field": field, "crop_year": crop_year, "crop": crop, "area_ac": field.planted_ac},
    )
    return True


def _read(reader: Any, values: Mapping[str, Any]) -> Row:
    node = Cells({name: value for name, value in values.items() if value not in (None, "")}, path=Path())
    row: Row | None = None
    try:
        row = reader(node)
    except BadCell as error:
        node.note(error)
    if row is None or node.wrong_cells:
        first = next(iter(node.wrong_cells.values()))
        raise StartRefused(first, fields=dict(node.wrong_cells))
    return row


def _refuse_other_clock(zone: str, longitude_deg: Decimal, now: dt.datetime) -> None:
    offset = now.astimezone(ZoneInfo(zone)).utcoffset() or dt.timedelta()
    hours_off = abs(offset.total_seconds() / 3600 - float(longitude_deg) / 15)
    if min(hours_off, 24 - hours_off) > MOST_HOURS_OFF:
        says = _(
            "the clock {zone} does not go with longitude {longitude}; west of Greenwich it begins with a minus"
        ).format(zone=zone, longitude=longitude_deg)
        raise StartRefused(says, fields={"place": says})
