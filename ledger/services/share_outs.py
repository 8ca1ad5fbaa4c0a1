"""Sharing a pool out over seasons: exact to the cent, with what each got and why; undone by reversing its entry."""

import datetime as dt
import hashlib
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.core.again import again
from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Implement, Machine, Pump
from ledger.costing.allocation import share_out
from ledger.models import Account, Entry, Line, SharedBy, ShareOut, ShareOutPart, SourceKind
from ledger.selectors.drafts import DraftLine, subject_of
from ledger.selectors.pools import STOCKED, Pool, PoolKind, pool_balances
from ledger.selectors.share_weights import ShareOutRefused, Weight, weights
from ledger.services.journal import hold_books, reverse_entry, write_entry
from ledger.services.periods import refuse_closed
from ledger.services.posting import post_pending

ACCOUNTS = {
    PoolKind.MACHINE: Account.MACHINE_POOL,
    PoolKind.IMPLEMENT: Account.MACHINE_POOL,
    PoolKind.PUMP: Account.IRRIGATION,
    PoolKind.OVERHEAD: Account.OVERHEAD,
    **STOCKED,
}
LONGEST_WHY = 200


class ShareOutDiffers(DomainError):
    """The same share-out was made before with other facts."""

    code = "share_out_differs"
    kind = Kind.CONFLICT


@dataclass(frozen=True)
class ShareOutOutcome:
    """What a share-out came to; `share_out` and `entry` are None where it was only tried, and nothing was booked.

    `weights` says by what each season got its parts, also those that got nothing.
    """

    share_out: ShareOut | None
    parts: tuple[ShareOutPart, ...]
    entry: Entry | None
    total_cents: int
    weights: Mapping[int, Weight]
    is_new: bool

    @property
    def fingerprint(self) -> str:
        """Return words that are others as soon as any season gets another amount of any category."""
        told = sorted((part.season_id, part.category, part.cents) for part in self.parts)
        return hashlib.sha256(repr(told).encode()).hexdigest()[:16]


def share_out_pool(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    pool: Pool,
    shared_by: SharedBy | str,
    crop_year: int,
    first_on: dt.date,
    last_on: dt.date,
    why: str,
    made_by: Any = None,
    now: dt.datetime,
    dry_run: bool = False,
    shown: str | None = None,
) -> ShareOutOutcome:
    """Share out what a pool holds through `last_on` over the seasons of a crop year, each category by itself.

    What is pending is posted first. `pool` names the pool; what it holds is read anew once the books are held. The
    parts of a category sum to it to the cent, whatever its sign. The same `client_id` with the same facts is the same
    share-out. Raise ShareOutRefused for days to come, a day before that of a share-out of the pool that stands, a pool
    that holds nothing and weights that are all zero, and PeriodClosedError for a day in a closed month. A share-out that
    was reversed is made anew with another id. A dry run may lack the reason: nobody knows it before having looked. `shown` is the
    fingerprint of what a dry run came to: where it would be another by now nothing is booked, as in a dry run.
    """
    by = _shared_by(shared_by)
    why = _why(why, may_lack=dry_run)
    _refuse_odd_days(farm, first_on, last_on, now)
    wanted = {
        **_names(pool),
        "shared_by": by.value,
        "crop_year": crop_year,
        "first_on": first_on,
        "last_on": last_on,
        "why": why,
    }
    known = _known(farm, client_id, wanted)
    if known is not None:
        return known
    post_pending(farm=farm, now=now)
    return again(lambda: _share_out(farm, client_id, pool, wanted, made_by, now, dry_run, shown))


def reverse_share_out(*, share_out: ShareOut, why: str, made_by: Any = None, now: dt.datetime) -> Entry:
    """Undo a share-out with a reason, to the cent: its pool holds again what it held. Raise ReversalRefused."""
    entry = Entry.objects.get(share_out=share_out, purpose="cost")
    return again(lambda: reverse_entry(entry=entry, why=" ".join(why.split()), now=now, made_by=made_by))


def _share_out(
    farm: Farm,
    client_id: uuid.UUID,
    pool: Pool,
    wanted: dict[str, Any],
    made_by: Any,
    now: dt.datetime,
    dry_run: bool,
    shown: str | None,
) -> ShareOutOutcome:
    last_on = wanted["last_on"]
    with transaction.atomic():
        hold_books(farm=farm)
        known = _known(farm, client_id, wanted)
        if known is not None:
            return known
        refuse_closed(farm=farm, day=last_on)
        _refuse_before_another(farm, pool, last_on)
        held = _held(farm, pool, last_on)
        days = {name: wanted[name] for name in ("crop_year", "first_on", "last_on")}
        by_season = weights(
            farm=farm, shared_by=SharedBy(wanted["shared_by"]), thing=held.thing, stocked=held.stocked, **days
        )
        parts = _parts(farm, held, by_season)
        tried = ShareOutOutcome(None, tuple(parts), None, held.left_cents, by_season, is_new=False)
        if dry_run or shown not in (None, tried.fingerprint):
            return tried
        made = ShareOut.objects.create(
            farm=farm,
            client_id=client_id,
            total_cents=held.left_cents,
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
            lines=_lines(held, parts, by_season),
            happened_on=last_on,
            now=now,
            why=wanted["why"],
            made_by=made_by,
        )
    return ShareOutOutcome(made, tuple(parts), entry, held.left_cents, by_season, is_new=True)


def _shared_by(shared_by: SharedBy | str) -> SharedBy:
    if shared_by not in SharedBy.values:
        raise ShareOutRefused(
            _("{way} is nothing to share out by; known: {known}.").format(
                way=repr(shared_by), known=", ".join(SharedBy.values)
            ),
            fields={"shared_by": "Not known."},
        )
    return SharedBy(shared_by)


def _why(why: str, *, may_lack: bool) -> str:
    why = " ".join(why.split())
    if not (why or may_lack) or len(why) > LONGEST_WHY:
        raise ShareOutRefused(
            _("A share-out needs a reason in words, of {most} letters at most.").format(most=LONGEST_WHY),
            fields={"why": "Say why."},
        )
    return why


def _refuse_odd_days(farm: Farm, first_on: dt.date, last_on: dt.date, now: dt.datetime) -> None:
    if last_on < first_on:
        raise ShareOutRefused(
            _("The days end on {last}, before they begin on {first}.").format(last=last_on, first=first_on),
            fields={"last_on": "Too early."},
        )
    if last_on > local_date(now, farm.zone):
        raise ShareOutRefused(
            _("{day} has not come yet; what will be worked until then is not known.").format(day=last_on),
            fields={"last_on": "Not come yet."},
        )


def _names(pool: Pool) -> dict[str, Any]:
    """Return the keys by which a share-out names its pool; none for the farm as a whole."""
    names: dict[str, Any] = {"machine": None, "implement": None, "pump": None, "item": "", "stock": ""}
    if pool.thing is not None:
        names[pool.kind.value] = pool.thing
    if pool.stocked is not None:
        names |= {"item": pool.item, "stock": pool.stocked.account}
    return names


def _known(farm: Farm, client_id: uuid.UUID, wanted: dict[str, Any]) -> ShareOutOutcome | None:
    found = ShareOut.objects.filter(farm=farm, client_id=client_id).first()
    if found is None:
        return None
    differs = [name for name, value in wanted.items() if getattr(found, name) != value]
    if differs or found.landlord_id is not None:
        raise ShareOutDiffers(
            _(
                "The share-out of {pool} on {day} was made before with another {names}; another share-out needs "
                "another id."
            ).format(
                pool=found.machine
                or found.implement
                or found.pump
                or found.landlord
                or found.item
                or pgettext("a pool", "the farm as a whole"),
                day=found.last_on,
                names=", ".join(differs) or "landlord",
            ),
            fields={**dict.fromkeys(differs, "Differs."), "client_id": "used"},
        )
    parts = tuple(found.parts.select_related("season__field"))
    entry = Entry.objects.get(share_out=found, purpose="cost")
    return ShareOutOutcome(found, parts, entry, found.total_cents, {}, is_new=False)


def _refuse_before_another(farm: Farm, pool: Pool, last_on: dt.date) -> None:
    """Refuse a day before that of another share-out of the pool: what that took would be taken a second time.

    A difference of prices is told of all that was booked, so that it is gone once it was shared out.
    """
    if pool.stocked is not None:
        return
    of_thing = {} if pool.thing is None else {pool.kind.value: pool.thing}
    taken = Entry.objects.filter(
        pk__in=Line.objects.filter(
            farm=farm, account=ACCOUNTS[pool.kind], entry__source_kind=SourceKind.SHARE_OUT, **of_thing
        ).values("entry"),
        reversed_by=None,
        booked_on__gt=last_on,
    )
    later = taken.order_by("-booked_on", "-number").first()
    if later is not None:
        raise ShareOutRefused(
            _(
                "The pool of {pool} was shared out through {day} already, by entry {number}. Take that day or a later "
                "one, or reverse that share-out first."
            ).format(pool=_said(pool), day=later.booked_on, number=later.number),
            fields={"last_on": "Shared out already."},
        )


def _said(pool: Pool) -> str:
    return pgettext("a pool", "the farm as a whole") if pool.kind == PoolKind.OVERHEAD else pool.name


def _held(farm: Farm, wanted: Pool, last_on: dt.date) -> Pool:
    for pool in pool_balances(farm=farm, through=last_on):
        if (pool.kind, pool.thing, pool.item) == (wanted.kind, wanted.thing, wanted.item):
            return pool
    raise ShareOutRefused(
        _("The pool of {pool} holds nothing through {day}.").format(pool=_said(wanted), day=last_on)
    )


def _parts(farm: Farm, pool: Pool, by_season: Mapping[int, Weight]) -> list[ShareOutPart]:
    by_name = {_name(weight): weight for weight in by_season.values() if weight.amount > 0}
    amounts = {name: weight.amount for name, weight in by_name.items()}
    return [
        ShareOutPart(
            farm=farm,
            season=by_name[name].season,
            category=category,
            weight_e4=by_name[name].amount_e4,
            unit=by_name[name].unit,
            cents=cents,
        )
        for category, held_cents in pool.by_category.items()
        for name, cents in sorted(share_out(total_cents=held_cents, weights=amounts).items())
    ]


def _name(weight: Weight) -> str:
    """Return a season's lasting name: by it the cents that are left over go the same way in another database."""
    return subject_of(season=weight.season, machine=None, implement=None, pump=None)


def _lines(pool: Pool, parts: list[ShareOutPart], by_season: Mapping[int, Weight]) -> list[DraftLine]:
    machine = pool.thing if isinstance(pool.thing, Machine) else None
    implement = pool.thing if isinstance(pool.thing, Implement) else None
    lines: list[DraftLine] = []
    for category, held_cents in pool.by_category.items():
        lines += [
            DraftLine(
                Account.SEASON,
                part.cents,
                category,
                season=part.season,
                machine=machine,
                implement=implement,
                says=f"share of {pool.name}: {by_season[part.season.pk].says}",
            )
            for part in parts
            if part.category == category and part.cents != 0
        ]
        lines.append(
            DraftLine(
                ACCOUNTS[pool.kind],
                -held_cents,
                category,
                machine=machine,
                implement=implement,
                pump=pool.thing if isinstance(pool.thing, Pump) else None,
                item=pool.item,
                says="shared out over seasons",
            )
        )
    return lines
