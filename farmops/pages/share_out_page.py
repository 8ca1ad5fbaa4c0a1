"""What the pages of share-outs show: what the pools hold, what a share-out would come to, and what each field got and why."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from urllib.parse import urlencode

from django.db.models import Max
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext, pgettext

from farmops.farms.models import Farm, Season
from farmops.pages import words
from farmops.pages.cost_page import side_of
from ledger.models import SharedBy
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.costs import crop_years
from ledger.selectors.pending import waiting_postings
from ledger.selectors.periods import closed_through, next_month
from ledger.selectors.pool_lines import Side
from ledger.selectors.pools import Pool, PoolKind, pool_balances
from ledger.selectors.share_outs import (
    MadeShareOut,
    SeasonShare,
    categories_of,
    made_share_outs,
    season_shares,
)
from ledger.selectors.source_words import thing_says
from ledger.services.share_outs import ACCOUNTS, ShareOutOutcome

DAY_BEFORE = dt.timedelta(days=1)
TENTHS = ("ac", "h", "ac-in")
"""Units of weights that are shown to a tenth; of an item as many decimals as there are."""
AS_USED = "as_used"
"""What the form offers first: each pool the way of its own kind."""
KINDS = {
    PoolKind.MACHINE: gettext_noop("machine"),
    PoolKind.IMPLEMENT: gettext_noop("implement"),
    PoolKind.PUMP: gettext_noop("pump"),
    PoolKind.SHED: gettext_noop("in the shed, used at another price than its bills asked"),
    PoolKind.TANK: gettext_noop("in the tank, used at another price than its bills asked"),
}
_USUAL = {
    PoolKind.PUMP: SharedBy.ACRE_INCHES,
    PoolKind.OVERHEAD: SharedBy.ACRES,
    PoolKind.SHED: SharedBy.USED,
    PoolKind.TANK: SharedBy.USED,
}


def usual_way(kind: PoolKind) -> str:
    """Return by what a pool is shared where nobody says otherwise: a machine by its hours, so that no field pays for
    it, or gets back of it, where it never ran; a pump by its water, the farm as a whole by acres."""
    return _USUAL.get(kind, SharedBy.HOURS).value


def share_out_list(
    *,
    farm: Farm,
    today: dt.date,
) -> dict[str, Any]:
    """Return what each pool holds, the form to share one out, and the share-outs made."""
    labels = category_book(farm=farm)
    pools = pool_balances(farm=farm, through=today, carry=True)
    made = made_share_outs(farm=farm)
    left = sum(pool.left_cents for pool in pools)
    return {
        "headline": _headline(pools, left),
        "pools": [_pool(farm, pool, labels) for pool in pools],
        "made": [_made(one) for one in made],
        "waiting": waiting_postings(farm).count(),
        "typed": _fresh(farm, today),
        "ways": [
            (AS_USED, _("the use of it: hours, water, or acres")),
            *((value, words.named(label)) for value, label in SharedBy.choices),
        ],
        "years": crop_years(farm=farm) or [today.year],
    }


def tried_facts(*, farm: Farm, typed: Mapping[str, Any], tried: ShareOutOutcome) -> dict[str, Any]:
    """Return what a share-out that was tried would come to, and by what."""
    return {"tried": _tried(tried, category_book(farm=farm)), "by": _by(typed)}


def empty_pool(*, farm: Farm, pool: Pool, today: dt.date) -> dict[str, str] | None:
    """Return a pool that was chosen as the form offers it, or None where it is offered: it holds something."""
    held = pool_balances(farm=farm, through=today, carry=True)
    if any(one.key == pool.key for one in held):
        return None
    return {"key": pool.key, "name": words.capital(_name(pool)), "left": side_of(0)}


def share_out_facts(*, farm: Farm, made: MadeShareOut) -> dict[str, Any]:
    """Return one share-out: what each season got of each category, and by what weight."""
    row, shares = made.share_out, season_shares(share_out=made.share_out)
    by = words.named(row.get_shared_by_display())
    return {
        "made_id": row.pk,
        "headline": _went(made, len(shares)),
        "days": _("{first} to {last}").format(
            first=words.table_date(row.first_on), last=words.table_date(row.last_on)
        ),
        "crop_year": row.crop_year,
        "why": row.why,
        "made_by": (row.made_by.get_full_name() or str(row.made_by)) if row.made_by else "",
        "entry": made.entry.number,
        "reversal": _reversal(made),
        "by": by,
        "table": _table(shares, category_book(farm=farm)),
    }


def _headline(pools: list[Pool], left_cents: int) -> str:
    if not pools:
        return _("No pool holds anything.")
    amount = words.whole_dollars(abs(left_cents))
    if left_cents < 0:
        return _("Fields were charged {amount} more than the pools cost so far.").format(amount=amount)
    ahead = sum(pool.left_cents < 0 for pool in pools)
    if not ahead:
        return _("{amount} is in the pools and in no field’s cost yet.").format(amount=amount)
    return ngettext(
        "{amount} is in the pools and in no field’s cost yet; {count} is charged ahead.",
        "{amount} is in the pools and in no field’s cost yet; {count} are charged ahead.",
        ahead,
    ).format(amount=amount, count=words.count_word(ahead))


def _went(made: MadeShareOut, count: int) -> str:
    """Return in a sentence what went where; what had been charged ahead goes back to the fields."""
    row, cents = made.share_out, made.share_out.total_cents
    seasons = ngettext("{count} season", "{count} seasons", count).format(count=words.count_word(count))
    if row.landlord is not None:
        return _("{landlord} bears {amount} of the costs of {seasons}.").format(
            landlord=row.landlord.name, amount=words.dollars(cents), seasons=seasons
        )
    said = (
        _("{amount} of {pool} went to {seasons} by {way}.")
        if cents >= 0
        else _("{amount} of {pool} charged ahead went back to {seasons} by {way}.")
    )
    return said.format(
        amount=words.dollars(abs(cents)),
        pool=_pool_name(made),
        seasons=seasons,
        way=words.named(row.get_shared_by_display()),
    )


def _fresh(farm: Farm, today: dt.date) -> dict[str, str]:
    """Return the form as it comes: the year so far through the last whole month, or today where that one is closed."""
    last_on = today.replace(day=1) - DAY_BEFORE
    shut = closed_through(farm=farm)
    if shut is not None and last_on < next_month(shut):
        last_on = today
    newest = Season.objects.filter(farm=farm).aggregate(year=Max("crop_year"))["year"] or today.year
    return {
        "pool": "",
        "shared_by": AS_USED,
        "crop_year": str(min(newest, last_on.year)),
        "first_on": last_on.replace(month=1, day=1).isoformat(),
        "last_on": last_on.isoformat(),
        "why": "",
    }


def _by(typed: Mapping[str, Any]) -> str:
    way = str(typed["shared_by"])
    by = SharedBy(usual_way(PoolKind(typed["pool"].split(":")[0])) if way == AS_USED else way)
    return words.named(by.label)


def _pool(farm: Farm, pool: Pool, labels: CategoryBook) -> dict[str, Any]:
    return {
        "lines_at": _lines_at(farm, pool),
        "key": pool.key,
        "name": words.capital(_name(pool)),
        "kind": words.named(KINDS.get(pool.kind, "")),
        "left": side_of(pool.left_cents),
        "parts": [
            (words.named(labels.label(code)), words.dollars(cents))
            for code, cents in pool.by_category.items()
        ],
    }


def _name(pool: Pool) -> str:
    if pool.thing is not None:
        return thing_says(pool.thing)
    return pool.item or pgettext("a pool", "the farm as a whole")


def _lines_at(farm: Farm, pool: Pool) -> str:
    """Return where the lines behind a pool are shown."""
    if pool.thing is not None and pool.kind != PoolKind.PUMP:
        asked = urlencode({"pool": pool.thing.code, "side": Side.LEFT.value})
        return f"{reverse('pages:pool_lines', args=[farm.code])}?{asked}"
    return reverse("pages:account", args=[farm.code, ACCOUNTS[pool.kind].value])


def _made(one: MadeShareOut) -> dict[str, Any]:
    return {
        "pk": one.share_out.pk,
        "on": words.table_date(one.share_out.last_on),
        "pool": words.capital(_pool_name(one)),
        "by": words.named(one.share_out.get_shared_by_display()),
        "crop_year": one.share_out.crop_year,
        "total": words.dollars(one.share_out.total_cents),
        "why": one.share_out.why,
        "entry": one.entry.number,
        "reversal": _reversal(one),
    }


def _reversal(made: MadeShareOut) -> str:
    if made.reversal is None:
        return ""
    return _("reversed by entry {number}: {why}").format(number=made.reversal.number, why=made.reversal.why)


def _pool_name(made: MadeShareOut) -> str:
    row = made.share_out
    thing = row.machine or row.implement or row.pump
    if row.landlord is not None:
        return _("what {landlord} bears").format(landlord=row.landlord.name)
    return thing_says(thing) if thing is not None else row.item or pgettext("a pool", "the farm as a whole")


def _tried(outcome: ShareOutOutcome, labels: CategoryBook) -> dict[str, Any]:
    shares: dict[int, SeasonShare] = {}
    for part in outcome.parts:
        weight = outcome.weights[part.season_id]
        one = shares.setdefault(part.season_id, SeasonShare(part.season, weight.amount, weight.unit, {}))
        one.by_category[part.category] = part.cents
    ordered = sorted(shares.values(), key=lambda one: (one.season.field.code, one.season.part, one.season.pk))
    cents = outcome.total_cents
    return {
        "total": words.dollars(abs(cents)),
        "shown": outcome.fingerprint,
        "is_back": cents < 0,
        "nothing": len(outcome.weights) - len(shares),
        **_table(ordered, labels),
    }


def _table(shares: list[SeasonShare], labels: CategoryBook) -> dict[str, Any]:
    codes = categories_of(shares)
    weights = [one.weight for one in shares if one.weight is not None]
    whole, unit = sum(weights, Decimal(0)), shares[0].unit if shares else ""
    return {
        "categories": [words.named(labels.label(code)) for code in codes],
        "weighed": bool(whole),
        "rows": [
            {
                "season": _season(one.season),
                "weight": "" if one.weight is None else _amount(one.weight, unit),
                "share": "" if one.weight is None else f"{one.weight / whole * 100:.2f} %",
                "total": words.dollars(one.cents),
                "amounts": [
                    words.dollars(one.by_category[code]) if code in one.by_category else "" for code in codes
                ],
            }
            for one in shares
        ],
        "foot": {
            "weight": _amount(whole, unit),
            "total": words.dollars(sum(one.cents for one in shares)),
            "amounts": [words.dollars(sum(one.by_category.get(code, 0) for one in shares)) for code in codes],
        },
    }


def _amount(weight: Decimal, unit: str) -> str:
    if unit == "part":
        return ngettext("{number} part", "{number} parts", int(weight)).format(number=f"{weight:,.0f}")
    if unit in TENTHS:
        return f"{weight:,.1f} {unit}"
    return f"{weight.normalize():,f} {unit}"


def _season(season: Season) -> str:
    part = f", {season.part}" if season.part else ""
    return f"{season.field.name}{part}, {words.named(season.get_crop_display())} {season.crop_year}"
