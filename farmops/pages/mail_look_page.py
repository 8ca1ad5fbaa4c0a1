"""A look at a mail before it is made: composed as it would be now, with no link that signs in, and written nowhere."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from farmops.core.models import Language, User
from farmops.digests.models import OutboxRow, SheetKind
from farmops.digests.models.words import KINDS_OF_HANDS
from farmops.digests.selectors.people import ROLE_OF
from farmops.digests.services.composing import COMPOSING_TROUBLE, FarmDays, Sheet, compose_row
from farmops.digests.services.reporting_at import plain_address
from farmops.farms.models import Farm, Hand
from farmops.pages import words


@dataclass(frozen=True)
class Look:
    """What a person's mail would say: `sheet` is None where there is nothing to tell, `wrong` says what hinders it."""

    farm: Farm
    person: Hand | User
    name: str
    kind: SheetKind
    day: dt.date
    language: str
    sheet: Sheet | None
    wrong: str = ""


def look_at(
    *, farm: Farm, kind: str, of: str, person_id: int, day: dt.date, language: str, now: dt.datetime
) -> Look:
    """Return a look at a person's mail of a day, in the person's language or another."""
    if kind not in SheetKind.values or of != ("hand" if kind in KINDS_OF_HANDS else "user"):
        raise Http404
    person: Hand | User
    if of == "hand":
        person = get_object_or_404(Hand, farm=farm, pk=person_id)
    else:
        role = ROLE_OF[SheetKind(kind)]
        readers = User.objects.filter(memberships__farm=farm, memberships__role=role)
        person = get_object_or_404(readers.distinct(), pk=person_id)
    person.language = language or person.language
    row = OutboxRow(
        farm=farm,
        hand=person if isinstance(person, Hand) else None,
        user=None if isinstance(person, Hand) else person,
        kind=kind,
        local_day=day,
        due_at=now,
        asked_at=now,
    )
    sheet, wrong = None, ""
    try:
        made = compose_row(row=row, now=now, days=FarmDays(), report_at=plain_address(farm=farm))
        sheet = made.sheet if made is not None else None
    except COMPOSING_TROUBLE as error:
        wrong = _("This mail cannot be put together: {why}").format(why=str(error))
    return Look(farm, person, row.person_name, SheetKind(kind), day, person.language, sheet, wrong)


def look_facts(look: Look) -> dict[str, Any]:
    """Return the page of a look."""
    said = words.long_date(look.day)
    told = _("What {name} would read now: {kind} of {day}.")
    return {
        "headline": told.format(name=look.name, kind=words.named(look.kind.label), day=said),
        "name": look.name,
        "kind": look.kind.value,
        "of": "hand" if isinstance(look.person, Hand) else "user",
        "person_id": look.person.pk,
        "day": look.day,
        "before": look.day - dt.timedelta(days=1),
        "after": look.day + dt.timedelta(days=1),
        "language": look.language,
        "languages": [(code, named, code == look.language) for code, named in Language.choices],
        "wrong": look.wrong,
        "subject": look.sheet.subject if look.sheet is not None else "",
        "text": look.sheet.text if look.sheet is not None else "",
        "address": look.person.email,
    }
