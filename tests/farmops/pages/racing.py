"""A process of its own in which managers press the buttons of the pages at once.

`python -m tests.farmops.pages.racing`, with the settings and the database that the environment names. It prints one
line of JSON: what each press was answered with, and what was kept.
"""

import datetime as dt
import json
import threading
import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import django

django.setup()

from django.conf import settings  # noqa: E402  (after the settings are read)
from django.core.management import call_command  # noqa: E402  (after the settings are read)
from django.db import connection  # noqa: E402
from django.test import Client, override_settings  # noqa: E402

import farmops.celery  # noqa: E402, F401  (nudges need the configured app)
from farmops.core import clock  # noqa: E402
from farmops.core.models import JobRun, User  # noqa: E402
from farmops.farms.models import Field, Hand, HandAway, LatePlantingFacts, Membership  # noqa: E402
from farmops.farms.services.links import make_link  # noqa: E402
from farmops.weather.models import GaugeReading, SoilReading  # noqa: E402
from scheduling.models import FieldPass, Remark, SaySo, WeekPlan  # noqa: E402
from tests.factories import (  # noqa: E402
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.scheduling.ground import MONDAY, make_dry_spring  # noqa: E402

AT_ONCE = 4
FARM = "/farms/heron-slough/"
FIELD = f"{FARM}fields/pond-40/"
MORNING = f"{FARM}morning/"
PLAIN_FILES = {
    **settings.STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
"""Pages are shown without having gathered their style sheets first."""
NOW = MONDAY + dt.timedelta(hours=7)


def seed() -> None:
    call_command("migrate", verbosity=0)
    farm = make_farm()
    make_machine(farm)
    make_implement(farm)
    make_hand(farm)
    make_dry_spring(farm)
    make_pass(make_season(make_field(farm)))
    for name in ("mona", "marc"):
        user = User.objects.create_user(name, password="x" * 12)
        Membership.objects.create(farm=farm, user=user, role="manager")


def together(press: Callable[[Client, int], str]) -> list[str]:
    """Let two managers press at the same moment, each twice; return what each was answered."""
    gate = threading.Barrier(AT_ONCE, timeout=60)

    def one(number: int) -> str:
        client = Client(raise_request_exception=False, headers={"host": "localhost"})
        client.force_login(User.objects.get(username=("mona", "marc")[number // 2]))
        gate.wait()
        try:
            return press(client, number)
        finally:
            connection.close()

    with ThreadPoolExecutor(AT_ONCE) as pool:
        return [done.result() for done in [pool.submit(one, number) for number in range(AT_ONCE)]]


def posted(address: str, boxes: Callable[[int], dict[str, str]]) -> list[str]:
    def press(client: Client, number: int) -> str:
        answer = client.post(address, boxes(number))
        return f"{answer.status_code} {answer.headers.get('Location', '')}".strip()

    return together(press)


def main() -> None:
    seed()
    settings.LONG_WORK_RUNNER = "farmops.core.long_work_run.at_once"  # whoever presses first works it out
    clock.now = lambda: NOW  # the round is that of the weather's next day
    key = Field.objects.get().pk
    day = {"day": "2026-04-20"}
    by_two = [
        str(uuid.UUID(int=1 + number // 2)) for number in range(AT_ONCE)
    ]  # each manager's form, sent twice
    told = {
        "gauge": posted(f"{FIELD}gauge/", lambda n: {**day, "client_id": by_two[n], "rain_in": "0.3"}),
        "soil": posted(
            f"{FIELD}thermometer/",
            lambda n: {**day, "client_id": by_two[n], "hour": "06:00", "temp_f": "61", "depth_in": "4"},
        ),
        "remark": posted(
            f"{FIELD}remark/",
            lambda n: {**day, "client_id": by_two[n], "hour": "06:00", "what": "fits", "operation": "disk"},
        ),
    }
    remark = Remark.objects.order_by("id").first()
    assert remark is not None
    hand = Hand.objects.get()
    secret = make_link(farm=hand.farm, hand=hand, now=NOW)
    told["enter"] = posted(f"/in/{secret}/", lambda n: {})
    told["back"] = posted(f"{FIELD}remark/{remark.pk}/back/", lambda n: {})
    told["say"] = posted(
        f"{FIELD}say/", lambda n: {**day, "client_id": by_two[n], "word": "fit", "then": "keep"}
    )
    plans_before = WeekPlan.objects.count()
    told["round"] = posted(
        MORNING,
        lambda n: {
            **day,
            "client_id": by_two[n],
            "rain_on": "2026-04-19",
            "seen": "0",
            # each says something else: a word that stands already is not kept anew
            f"word-{key}": ("not_today", "after")[n // 2],
            f"hour-{key}": "14:00",
            f"rain-{key}": "0.1",
        },
    )
    with override_settings(STORAGES=PLAIN_FILES):
        told |= _pressed_around_the_plan()
    field_pass = FieldPass.objects.get()
    kept = {
        "held": [field_pass.fixed_outfit, field_pass.fixed_from is None],
        "away": list(HandAway.objects.values_list("why", flat=True)),
        "late": [str(one.price_usd) for one in LatePlantingFacts.objects.all()],
        "sent": WeekPlan.objects.filter(state="sent").count(),
        "gauges": GaugeReading.objects.count(),
        "soil": SoilReading.objects.count(),
        "remarks": Remark.objects.filter(is_taken_back=False).count(),
        "taken_back": Remark.objects.filter(is_taken_back=True).count(),
        "words": sorted(SaySo.objects.values_list("word", "said_by__username")),
        "plans": list(WeekPlan.objects.order_by("number").values_list("number", flat=True)),
        "plans_before": plans_before,
        "came_in_as": list(hand.memberships.values_list("user__username", "role")),
        "claims": JobRun.objects.filter(finished_at=None).count(),
    }
    print(json.dumps({"told": told, "kept": kept}))


def _pressed_around_the_plan() -> dict[str, list[str]]:
    """Press what holds a pass, keeps a hand away, prices late planting, asks what would help, and sends."""
    held, hand = FieldPass.objects.get().pk, Hand.objects.get().pk
    number = WeekPlan.objects.order_by("-number")[0].number
    days = {"first": "2026-05-04", "last": "2026-05-05"}
    cotton = {"yield_per_ac": "900", "yield_unit": "lb", "curve": ""}
    return {
        "hold": posted(
            f"{FARM}passes/{held}/hold/", lambda n: {"outfit": "tractor-1+disk-1+imani", "hour": ""}
        ),
        "away": posted(f"{FARM}fleet/hands/{hand}/away/", lambda n: {**days, "why": "wedding"}),
        "late": posted(f"{FARM}late/cotton/", lambda n: {**cotton, "price_usd": f"0.8{n}"}),
        "help": posted(f"{FARM}week/{number}/help/", lambda n: {"what": "rain", "day": "", "usd_per_h": ""}),
        "send": posted(f"{FARM}week/{number}/send/", lambda n: {}),
    }


if __name__ == "__main__":
    main()
