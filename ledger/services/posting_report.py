"""What a run of posting did, and what it kept waiting with a sentence."""

import datetime as dt
from dataclasses import dataclass, field

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.models import PostingWait
from ledger.selectors.sources import Source, kind_of


class CostNotWorkedOut(DomainError):
    """Numbers of a source from which no cost follows: it is kept, its posting waits."""

    code = "cost_not_worked_out"
    kind = Kind.CONFLICT


@dataclass(frozen=True)
class Waiting:
    """A source that was not posted, and why."""

    farm: str
    source_kind: str
    source_id: int
    happened_on: dt.date
    code: str
    says: str


@dataclass
class PostingReport:
    """What a run did: entries of sources, reversals of superseded ones, and what waits."""

    posted: int = 0
    reversed: int = 0
    waiting: list[Waiting] = field(default_factory=list)

    def __str__(self) -> str:
        return f"{self.posted} posted, {self.reversed} reversed, {len(self.waiting)} waiting"


def keep_waiting(
    *, farm: Farm, source: Source, happened_on: dt.date, error: DomainError, now: dt.datetime
) -> Waiting:
    """Keep a source that cannot be posted, with the sentence that says for what it waits."""
    waiting = Waiting(farm.code, kind_of(source).value, source.pk, happened_on, error.code, error.says)
    told = {
        "happened_on": waiting.happened_on,
        "code": waiting.code,
        "says": waiting.says[:300],
        "checked_at": now,
    }
    PostingWait.objects.update_or_create(
        farm=farm,
        source_kind=waiting.source_kind,
        source_id=waiting.source_id,
        defaults=told,
        create_defaults={**told, "first_at": now},
    )
    return waiting
