"""An entry in the form that is hashed, and the head of a farm's chain."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from farmops.core.ready import Ready
from farmops.farms.models import Farm
from ledger.costing.chain import ChainEntry, ChainLine
from ledger.models import Entry, Line


@dataclass(frozen=True)
class ChainHead:
    """The newest entry of a farm: its number and digest; 0 and empty where nothing is booked."""

    number: int
    digest: str


NEWEST = Ready(
    lambda farm_id: Entry.objects.filter(farm=farm_id).only("number", "hash").order_by("-number")[:1], -1
)


def chain_head(*, farm: Farm) -> ChainHead:
    """Return the head of a farm's chain."""
    last = NEWEST.ask(farm.pk)
    return ChainHead(last[0].number, last[0].hash) if last else ChainHead(0, "")


def chain_entry(entry: Entry, lines: Iterable[Line]) -> ChainEntry:
    """Return an entry and its lines as they are hashed."""
    return ChainEntry(
        number=entry.number,
        source_kind=entry.source_kind,
        source_key=entry.source_key,
        purpose=entry.purpose,
        happened_on=entry.happened_on.isoformat(),
        posted_at=entry.posted_at.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ"),
        why=entry.why,
        lines=tuple(
            ChainLine(
                line_no=line.line_no,
                account=line.account,
                subject=line.subject,
                category=line.category,
                cents=line.cents,
                quantity_e4=line.quantity_e4,
                unit=line.unit,
                price_e4=line.price_e4,
                says=line.says,
                outfit=line.outfit,
                operation=line.operation,
                item=line.item,
                lot=line.lot,
            )
            for line in lines
        ),
        booked_on=entry.booked_on.isoformat(),
        form_no=entry.form_no,
    )
