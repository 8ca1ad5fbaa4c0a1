"""Share a pool out over the seasons of a crop year, say what the pools hold, or undo a share-out."""

import datetime as dt
import uuid
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from farmops.farms.selectors import farm_by_code
from ledger.costing.money import usd_text
from ledger.models import SharedBy
from ledger.selectors.pools import pool_balances, pool_named
from ledger.selectors.share_outs import made_share_out
from ledger.services.share_outs import ShareOutOutcome, reverse_share_out, share_out_pool

NAMES = uuid.UUID("5c1d7f0a-2f5e-5c3b-8b7a-9a2e4d1c6f30")
NEEDED = ("by", "crop_year", "first", "last", "why")


class Command(BaseCommand):
    help = (
        "Without --pool: say what each pool holds through --to. With --pool: share it out, each category by itself and "
        "to the cent; the same command again books nothing more. With --reverse: undo a share-out. Exit codes: 0 done "
        "or known, 1 refused and nothing booked."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument(
            "--pool",
            metavar="KEY",
            help="overhead, machine:CODE, implement:CODE, pump:CODE, shed:CODE or tank:CODE",
        )
        parser.add_argument("--by", choices=SharedBy.values)
        parser.add_argument("--crop-year", metavar="YEAR", type=int)
        parser.add_argument("--from", metavar="DATE", type=dt.date.fromisoformat, dest="first")
        parser.add_argument("--to", metavar="DATE", type=dt.date.fromisoformat, dest="last")
        parser.add_argument("--why", default="", help="the reason, in words")
        parser.add_argument(
            "--dry-run", action="store_true", help="say what each season would get, book nothing"
        )
        parser.add_argument("--reverse", metavar="ID", type=int, help="of the share-out to undo")

    def handle(self, *args: Any, **options: Any) -> None:
        now = clock.now()
        try:
            farm = farm_by_code(options["farm"])
            if options["reverse"] is not None:
                self._undo(farm, options["reverse"], options["why"], now)
            elif options["pool"] is None:
                self._say_pools(farm, options["last"] or clock.local_date(now, farm.zone))
            else:
                self._share(farm, options, now)
        except DomainError as error:
            raise CommandError(error.says) from error

    def _say_pools(self, farm: Farm, through: dt.date) -> None:
        pools = pool_balances(farm=farm, through=through)
        if not pools:
            self.stdout.write(f"No pool of {farm.name} holds anything through {through}.")
        for pool in pools:
            parts = ", ".join(f"{category} {usd_text(cents)}" for category, cents in pool.by_category.items())
            self.stdout.write(f"{pool.key}: {usd_text(pool.left_cents)} dollars ({parts}).")

    def _share(self, farm: Farm, options: dict[str, Any], now: dt.datetime) -> None:
        lacks = [name for name in NEEDED if options[name] in (None, "")]
        if lacks:
            names = {"first": "from", "last": "to", "crop_year": "crop-year"}
            raise CommandError(
                f"To share a pool out, give also {', '.join(f'--{names.get(name, name)}' for name in lacks)}."
            )
        pool = pool_named(farm=farm, key=options["pool"])
        key = "|".join(str(options[name]) for name in ("pool", *NEEDED))
        outcome = share_out_pool(
            farm=farm,
            client_id=uuid.uuid5(NAMES, f"{farm.code}|{key}"),
            pool=pool,
            shared_by=options["by"],
            crop_year=options["crop_year"],
            first_on=options["first"],
            last_on=options["last"],
            why=options["why"],
            now=now,
            dry_run=options["dry_run"],
        )
        self._say_parts(outcome)
        self.stdout.write(
            f"{usd_text(outcome.total_cents)} dollars of {pool.name} by {SharedBy(options['by']).label}: "
            f"{self._what_was_done(farm, outcome)}"
        )

    def _what_was_done(self, farm: Farm, outcome: ShareOutOutcome) -> str:
        if outcome.share_out is None or outcome.entry is None:
            return "nothing booked, only tried."
        if outcome.is_new:
            return f"entry {outcome.entry.number}, share-out {outcome.share_out.pk}."
        made = made_share_out(farm=farm, share_out_id=outcome.share_out.pk)
        if made is not None and made.reversal is not None:
            return f"known already, and reversed by entry {made.reversal.number}; give another reason to share it out anew."
        return f"known already as entry {outcome.entry.number}, nothing booked."

    def _say_parts(self, outcome: ShareOutOutcome) -> None:
        by_season: dict[str, int] = {}
        says: dict[str, str] = {}
        for part in outcome.parts:
            name = str(part.season)
            by_season[name] = by_season.get(name, 0) + part.cents
            weight = outcome.weights.get(part.season_id)
            says[name] = f" ({weight.says})" if weight is not None else ""
        for name, cents in by_season.items():
            self.stdout.write(f"  {name}: {usd_text(cents)}{says[name]}")

    def _undo(self, farm: Farm, share_out_id: int, why: str, now: dt.datetime) -> None:
        made = made_share_out(farm=farm, share_out_id=share_out_id)
        if made is None:
            raise CommandError(f"{farm.name} has no share-out {share_out_id}.")
        entry = reverse_share_out(share_out=made.share_out, why=why, now=now)
        self.stdout.write(
            f"The {made.share_out} was reversed by entry {entry.number}: "
            f"{usd_text(made.share_out.total_cents)} dollars back in the pool."
        )
