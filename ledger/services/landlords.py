"""What was agreed with landlords, and charging them with their part of what their ground cost."""

import datetime as dt
import re
import uuid
from decimal import Decimal, InvalidOperation
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.again import again
from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Season
from ledger.models import Account, Entry, LandlordTerm, Payee, ShareOut, ShareOutPart
from ledger.selectors.categories import category_book
from ledger.selectors.drafts import DraftLine
from ledger.selectors.landlords import (
    LandlordRow,
    charged_elsewhere,
    known_landlords,
    landlord_statement,
    landlord_terms,
)
from ledger.selectors.payees import one_spaced, payee_called
from ledger.selectors.said import label_said, season_said
from ledger.selectors.share_weights import ShareOutRefused
from ledger.services.journal import hold_books, write_entry
from ledger.services.periods import refuse_closed
from ledger.services.posting import post_pending
from ledger.services.share_outs import LONGEST_WHY, ShareOutDiffers, ShareOutOutcome

LONGEST_NAME = 80
PLAIN = re.compile(r"[0-9]{1,3}(\.[0-9]+)?")


class LandlordTermRefused(DomainError):
    """What was agreed with a landlord that makes no sense; `fields` names the part."""

    code = "landlord_term_refused"


class LandlordTermDiffers(DomainError):
    """Another share of the same category of the same season was agreed before."""

    code = "landlord_term_differs"
    kind = Kind.CONFLICT


def set_landlord_term(
    *,
    farm: Farm,
    season: Season,
    landlord: str,
    share_pct: Decimal | str,
    category: str = "",
    corrects: bool = False,
    entered_by: Any = None,
    now: dt.datetime,
) -> tuple[LandlordTerm, bool]:
    """Keep what a landlord bears of a category of a season's costs; False beside it where that is known already.

    The empty category is for all that have no share of their own. The first term of a season takes the place of what the
    season or its field says of its landlord. Whoever has the name in other capitals is the same landlord, under the name that
    was there first. Another share of the same is a conflict unless it `corrects` it; 0 takes it
    away. Over all landlords no category has more than 100 percent. Raises LandlordTermRefused, LandlordTermDiffers.
    """
    name = " ".join(landlord.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise LandlordTermRefused(
            _("A landlord has a name of {most} letters at most.").format(most=LONGEST_NAME),
            fields={"landlord": "Who?"},
        )
    if season.farm_id != farm.pk:
        raise LandlordTermRefused(_("The season is another farm's."), fields={"season": "Not known."})
    if category and category not in category_book(farm=farm):
        raise LandlordTermRefused(
            _("{category!r} is not a category.").format(category=category), fields={"category": "Not known."}
        )
    pct = _percent(share_pct)
    with transaction.atomic():
        hold_books(farm=farm)
        payee, _new = Payee.objects.get_or_create(farm=farm, name=_meant(farm, name))
        name = payee.name
        known = (
            LandlordTerm.objects.filter(season=season, landlord=payee, category=category)
            .order_by("-correction_no")
            .first()
        )
        if known is not None and known.share_pct == pct:
            return known, False
        if known is not None and not corrects:
            raise LandlordTermDiffers(
                _("{landlord} bears {pct} % of {category} of {season}; say that this corrects it.").format(
                    landlord=name,
                    pct=f"{known.share_pct.normalize():f}",
                    category=category_said(farm, category),
                    season=season_said(season),
                ),
                fields={"share_pct": "Differs."},
            )
        _refuse_over(season, name, category, pct)
        return LandlordTerm.objects.create(
            farm=farm,
            season=season,
            landlord=payee,
            category=category,
            share_pct=pct,
            correction_no=0 if known is None else known.correction_no + 1,
            entered_by=entered_by,
            entered_at=now,
        ), True


def _meant(farm: Farm, name: str) -> str:
    """Return the name that is known of who is meant: of the landlords first, else of the payees; else the name as it is."""
    known = known_landlords(farm=farm)
    if name in known:
        return name
    alike = next((one for one in known if one_spaced(one).casefold() == name.casefold()), None)
    payee = None if alike is not None else payee_called(farm=farm, name=name)
    return alike or (name if payee is None else payee.name)


def charge_landlord(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    landlord: str,
    crop_year: int,
    last_on: dt.date,
    why: str,
    made_by: Any = None,
    now: dt.datetime,
    dry_run: bool = False,
) -> ShareOutOutcome:
    """Take a landlord's part of what is booked through a day off the seasons, and let the landlord owe it.

    Only what was not charged before, and from the day of the last charge on; too much is given back. It is undone by
    reversing its entry. The same `client_id`
    with the same facts is the same charge. Raises ShareOutRefused, ShareOutDiffers and PeriodClosedError.
    """
    why = " ".join(why.split())
    if not why or len(why) > LONGEST_WHY or not why.isprintable():
        raise ShareOutRefused(
            _("A charge needs a reason in words, of {most} letters at most.").format(most=LONGEST_WHY),
            fields={"why": "Say why."},
        )
    if last_on > local_date(now, farm.zone):
        raise ShareOutRefused(
            _("{day} has not come yet.").format(day=last_on), fields={"last_on": "Not come yet."}
        )
    wanted = {"crop_year": crop_year, "last_on": last_on, "why": why}
    known = _known(farm, client_id, landlord, wanted)
    if known is not None:
        return known
    post_pending(farm=farm, now=now)
    return again(lambda: _charge(farm, client_id, landlord, wanted, made_by, now, dry_run))


def _charge(
    farm: Farm,
    client_id: uuid.UUID,
    landlord: str,
    wanted: dict[str, Any],
    made_by: Any,
    now: dt.datetime,
    dry_run: bool,
) -> ShareOutOutcome:
    last_on = wanted["last_on"]
    with transaction.atomic():
        hold_books(farm=farm)
        known = _known(farm, client_id, landlord, wanted)
        if known is not None:
            return known
        refuse_closed(farm=farm, day=last_on)
        if charged_elsewhere(farm=farm, crop_year=wanted["crop_year"]):
            raise ShareOutRefused(
                _(
                    "Landlords were charged for crop year {year} in the journal that was read; "
                    "what is left of their part cannot be told from it."
                ).format(year=wanted["crop_year"])
            )
        _refuse_before_another(farm, landlord, wanted["crop_year"], last_on)
        statement = landlord_statement(
            farm=farm, landlord=landlord, crop_year=wanted["crop_year"], through=last_on
        )
        rows = [row for row in statement.rows if row.left_cents]
        if not rows:
            raise ShareOutRefused(
                _("{landlord} bears nothing of crop year {year} through {day} that was not charged.").format(
                    landlord=landlord, year=wanted["crop_year"], day=last_on
                )
            )
        total = sum(row.left_cents for row in rows)
        parts = [_part(farm, row) for row in rows]
        if dry_run:
            return ShareOutOutcome(None, tuple(parts), None, total, {}, is_new=False)
        payee, _new = Payee.objects.get_or_create(farm=farm, name=landlord)
        made = ShareOut.objects.create(
            farm=farm,
            client_id=client_id,
            landlord=payee,
            shared_by="",
            first_on=min(last_on, dt.date(wanted["crop_year"], 1, 1)),
            total_cents=total,
            made_by=made_by,
            made_at=now,
            **wanted,
        )
        for part in parts:
            part.share_out = made
        ShareOutPart.objects.bulk_create(parts)
        entry = write_entry(
            farm=farm,
            source=made,
            lines=_lines(landlord, rows),
            happened_on=last_on,
            now=now,
            why=wanted["why"],
            made_by=made_by,
        )
    return ShareOutOutcome(made, tuple(parts), entry, total, {}, is_new=True)


def _refuse_before_another(farm: Farm, landlord: str, crop_year: int, last_on: dt.date) -> None:
    """Refuse a day before that of another charge: what was booked between them would be given back."""
    later = (
        Entry.objects.filter(
            farm=farm,
            share_out__landlord__name=landlord,
            share_out__crop_year=crop_year,
            share_out__last_on__gt=last_on,
            reversed_by=None,
        )
        .order_by("-share_out__last_on", "-number")
        .first()
    )
    if later is not None:
        raise ShareOutRefused(
            _(
                "{landlord} was charged through {day} already, by entry {number}. Take that day or a later one, or "
                "reverse that charge first."
            ).format(landlord=landlord, day=later.happened_on, number=later.number),
            fields={"last_on": "Charged already."},
        )


def _part(farm: Farm, row: LandlordRow) -> ShareOutPart:
    return ShareOutPart(
        farm=farm,
        season=row.season,
        category=row.category,
        weight_e4=int(row.share_pct.scaleb(4)),
        unit="%",
        cents=row.left_cents,
    )


def _lines(landlord: str, rows: list[LandlordRow]) -> list[DraftLine]:
    lines: list[DraftLine] = []
    for row in rows:
        says = f"{landlord} bears {row.share_pct.normalize():f} %"
        lines += [
            DraftLine(Account.SEASON, -row.left_cents, row.category, season=row.season, says=says),
            DraftLine(
                Account.LANDLORDS_OWE, row.left_cents, row.category, says=f"{landlord} for {row.season}"
            ),
        ]
    return lines


def _known(farm: Farm, client_id: uuid.UUID, landlord: str, wanted: dict[str, Any]) -> ShareOutOutcome | None:
    found = ShareOut.objects.filter(farm=farm, client_id=client_id).select_related("landlord").first()
    if found is None:
        return None
    differs = [name for name, value in wanted.items() if getattr(found, name) != value]
    if found.landlord is None or found.landlord.name != landlord:
        differs.append("landlord")
    if differs:
        raise ShareOutDiffers(
            _("The {charge} was made before with another {what}; another charge needs another id.").format(
                charge=found, what=", ".join(differs)
            ),
            fields={**dict.fromkeys(differs, "Differs."), "client_id": "used"},
        )
    parts = tuple(found.parts.select_related("season__field"))
    entry = Entry.objects.get(share_out=found, purpose="cost")
    return ShareOutOutcome(found, parts, entry, found.total_cents, {}, is_new=False)


def _percent(share_pct: Decimal | str) -> Decimal:
    try:
        pct = Decimal(share_pct)
        if isinstance(share_pct, str) and not PLAIN.fullmatch(share_pct.strip()):
            raise InvalidOperation
        if not (pct.is_finite() and 0 <= pct <= 100 and pct == round(pct, 3)):
            raise InvalidOperation
    except InvalidOperation as error:
        raise LandlordTermRefused(
            _("A share of {pct} % is none: from 0 to 100, with three decimals at most.").format(
                pct=share_pct
            ),
            fields={"share_pct": "From 0 to 100."},
        ) from error
    return pct


def _refuse_over(season: Season, landlord: str, category: str, pct: Decimal) -> None:
    """Refuse what would leave a category of a season with more than all of it."""
    terms = landlord_terms(seasons=[season])[season.pk] if _has_terms(season) else {}
    terms.setdefault(landlord, {})[category] = pct
    for one in sorted({code for by in terms.values() for code in by}):
        total = sum((by.get(one, by.get("", Decimal(0))) for by in terms.values()), Decimal(0))
        if total > 100:
            raise LandlordTermRefused(
                _("Together the landlords of {season} would bear {pct} % of {category}.").format(
                    season=season_said(season),
                    pct=f"{total.normalize():f}",
                    category=category_said(season.farm, one),
                ),
                fields={"share_pct": "Over 100 %."},
            )


def category_said(farm: Farm, category: str) -> str:
    """Return a category as a person says it; what has no name of its own is everything else."""
    return label_said(category_book(farm=farm).label(category)) if category else _("everything else")


def _has_terms(season: Season) -> bool:
    return LandlordTerm.objects.filter(season=season).exists()
