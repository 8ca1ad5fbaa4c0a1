"""Every kind of mail laid out from plain facts, with as many tasks as asked for and any name in it."""

import datetime as dt

from farmops.digests.change_facts import ChangeDay, PlannedStop, beside
from farmops.digests.change_page import lay_out_change
from farmops.digests.cost_facts import CostLine, CostWeek
from farmops.digests.cost_page import lay_out_costs
from farmops.digests.digest_page import lay_out_digest
from farmops.digests.facts import SheetService
from farmops.digests.farm_facts import (
    CareAheadSaid,
    CrewHand,
    DayAhead,
    DigestDay,
    ParkedSaid,
    ShutField,
    ShutPart,
    TroubleSaid,
)
from farmops.digests.page import Page, lay_out
from farmops.digests.trouble_page import lay_out_trouble
from farmops.farms.operations import Operation
from scheduling.slips.words import Said
from tests.farmops.digests.planned import MONDAY, at
from tests.farmops.digests.sheet_facts import sheet_day, task

KINDS = ("hand", "digest", "change", "costs", "trouble")
TROUBLES = ("skipped", "bounced", "dead", "halted", "clock")


def page_of(kind: str, language: str, *, count: int = 1, name: str = "Pond 80") -> Page:
    """Return a mail of a kind with `count` tasks or lines; `name` stands wherever somebody typed something."""
    said = Said(name, name)
    if kind == "hand":
        slips = [task(field_name=name, hours=(7 + n % 10, 8 + n % 10), entrance=name) for n in range(count)]
        services = (SheetService(name, name, True, at(MONDAY, 6), at(MONDAY, 7), 60),) if count else ()
        day = sheet_day(*slips, services=services, hand_name=name, farm_name=name, farm_address=name)
        return lay_out(day, language)
    if kind == "digest":
        crew = tuple(CrewHand(name, (task(field_name=name),), is_on_paper=n % 2 == 0) for n in range(count))
        part = ShutPart(at(MONDAY, 6), at(MONDAY, 10), said)
        return lay_out_digest(
            DigestDay(
                farm_name=name,
                manager_name=name,
                day=MONDAY,
                has_plan=bool(count),
                crew=(*crew, CrewHand(name)),
                shut=tuple(ShutField(name, Operation.DISK, (part,), n % 2 == 0) for n in range(count)),
                care=tuple(CareAheadSaid(name, name, None if n % 2 else MONDAY) for n in range(count)),
                parked=tuple(ParkedSaid(name, name, MONDAY, name) for _ in range(count)),
                parked_count=count + 1 if count else 0,
                waiting_costs=(name,) * count,
                waiting_costs_count=count,
                weather=(DayAhead(MONDAY, 50.0, 80.0, 0.4, 0.5),) * min(count, 3),
                known_on=MONDAY - dt.timedelta(days=1),
                troubles=_troubles(count, name),
                undelivered_count=count,
                is_late=True,
                farm_at="https://farm.example/farms/heron-slough/",
            ),
            language,
        )
    if kind == "change":
        stops = [_stop(n, said, 7 + n % 10) for n in range(count)]
        changed, gone = beside(stops, [_stop(n, said, 6 + n % 10) for n in range(1, count + 2)])
        return lay_out_change(
            ChangeDay(name, name, MONDAY, changed, gone, name, "555-0142", is_last=True, is_late=True),
            language,
        )
    if kind == "costs":
        lines = tuple(CostLine(name, 12345, -67) for _ in range(count))
        return lay_out_costs(
            CostWeek(
                farm_name=name,
                reader_name=name,
                first=MONDAY,
                last=MONDAY + dt.timedelta(days=6),
                cents=12345 * count,
                before_cents=-67 * count,
                by_category=lines,
                by_place=lines,
                late_cents=5,
                late_count=count,
                waits=(name,) * count,
                waits_count=count,
                unpaid_cents=9,
                unpaid_count=count,
                oldest_payee=name,
                oldest_on=MONDAY if count else None,
                farm_at="https://farm.example/farms/heron-slough/",
            ),
            language,
        )
    return lay_out_trouble(
        farm_name=name, manager_name=name, day=MONDAY, troubles=_troubles(count, name), language=language
    )


def _stop(number: int, said: Said, hour: int) -> PlannedStop:
    return PlannedStop(f"pass {number} 1", said, at(MONDAY, hour), at(MONDAY, hour + 1), said)


def _troubles(count: int, name: str) -> tuple[TroubleSaid, ...]:
    return tuple(
        TroubleSaid(TROUBLES[n % len(TROUBLES)], n + 1, name, MONDAY if n % len(TROUBLES) == 0 else None)
        for n in range(count)
    )
