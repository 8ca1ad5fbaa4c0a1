"""Put a farm with a plan for this very morning into the database of the settings, then report a day's work.

`python -m tests.flows.service_farm`: prints the hands' addresses as JSON. The farm's zone is a fixed distance from UTC
so that its clock shows the tenth hour now, whenever this runs.
"""

import datetime as dt
import json
import sys
import uuid

import django


def main() -> None:
    django.setup()
    import farmops.celery  # noqa: F401, PLC0415  (the nudge needs the configured app)
    from farmops.core import clock  # noqa: PLC0415  (nothing of Django may load before setup)
    from farmops.desk.long_exports import JOURNAL, begin_export  # noqa: PLC0415
    from farmops.farms.models import Hand, Machine  # noqa: PLC0415
    from ledger.services.rates import set_rate  # noqa: PLC0415
    from scheduling.models import PlannedTask  # noqa: PLC0415
    from scheduling.services.work import record_work  # noqa: PLC0415
    from tests.farmops.digests.planned import farm_with_hands  # noqa: PLC0415

    now = clock.now()
    zone = zone_where_it_is(10, now)
    today = clock.local_date(now, zone)
    farm = farm_with_hands("imani", "odell", day=today, zone=zone, sheet_at=dt.time(9))
    for kind, usd in (("wage", "18.00"), ("machine", "65.00"), ("implement", "14.50")):
        set_rate(
            farm=farm, kind=kind, usd_per_unit=usd, valid_from=today, holds_fuel=kind == "machine", now=now
        )
    task = PlannedTask.objects.get(hand__code="imani")
    record_work(
        farm=farm,
        client_id=uuid.UUID(int=1),
        field_pass=task.field_pass,
        hand=Hand.objects.get(code="imani"),
        machine=Machine.objects.get(),
        implement=task.implement,
        work_on=today,
        hand_min=30,
        machine_min=20,
        done_ac=task.area_ac / 10,
        is_finished=False,
        recorded_by=None,
        now=now,
    )
    begin_export(farm=farm, what=JOURNAL, first=today, last=today, asked_by=None, now=now)
    json.dump(sorted(Hand.objects.values_list("email", flat=True)), sys.stdout)


def zone_where_it_is(hour: int, now: dt.datetime) -> str:
    """Return an IANA zone in which the clock now shows this hour (their signs are turned around)."""
    ahead = (hour - now.hour + 12) % 24 - 12
    return f"Etc/GMT{-ahead:+d}"


if __name__ == "__main__":
    main()
