"""Many hands who each want a short sheet on a day with nothing to do: the whole way of a mail, without plans.

`python -m tests.faults.crowd FARMS HANDS [FIRST]`: lays them into the database of the settings, on clocks that show the
tenth hour now, sheets at nine; prints the hands' addresses as JSON.
"""

import datetime as dt
import json
import sys

import django


def lay_crowd(
    *, farms: int, hands: int, zone: str, sheet_at: dt.time, first: int = 0, idle_every: int = 0
) -> list[str]:
    """Make farms with hands each; of `idle_every` hands one wants nothing on a day without work. Return the addresses."""
    from farmops.digests.models import MailChoice, OnEmptyDay, SheetKind  # noqa: PLC0415
    from farmops.farms.models import Hand  # noqa: PLC0415
    from tests.factories import make_farm  # noqa: PLC0415  (nothing of Django may load before setup)

    addresses = []
    for number in range(first, first + farms):
        code = f"crowd-{zone.replace('/', '-').replace('_', '-').replace('+', '-plus-').lower()}-{number}"
        farm = make_farm(code, zone=zone, sheet_at=sheet_at)
        rows = [
            Hand(farm=farm, code=f"hand-{one}", name=f"Hand {one}", email=f"h{one}.{number}@{code}.example")
            for one in range(hands)
        ]
        Hand.objects.bulk_create(rows)
        of_farm = list(Hand.objects.filter(farm=farm).order_by("pk"))
        wants = [one for at, one in enumerate(of_farm) if not idle_every or at % idle_every]
        MailChoice.objects.bulk_create(
            MailChoice(
                farm=farm,
                hand=one,
                kind=SheetKind.HAND,
                on_empty_day=OnEmptyDay.SHORT,
                changed_at=dt.datetime(2026, 1, 1, tzinfo=dt.UTC),
            )
            for one in wants
        )
        addresses += [one.email for one in wants]
    return addresses


def main(farms: int, hands: int, first: int = 0) -> None:
    django.setup()
    from farmops.core import clock  # noqa: PLC0415
    from tests.flows.service_farm import zone_where_it_is  # noqa: PLC0415

    zone = zone_where_it_is(10, clock.now())
    addresses = lay_crowd(farms=farms, hands=hands, zone=zone, sheet_at=dt.time(9), first=first)
    json.dump(addresses, sys.stdout)


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
