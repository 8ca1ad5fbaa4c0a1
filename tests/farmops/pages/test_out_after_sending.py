"""Who is away and what is down, said after a plan was sent: each page that names their jobs says so at once."""

import datetime as dt
from html import unescape

import pytest
import time_machine

from farmops.core.models import User
from farmops.digests.models import OutboxRow, SheetKind
from farmops.digests.services.composing import FarmDays, compose_row
from farmops.digests.services.making import make_due
from farmops.farms.models import Hand, HandAway, Implement, Machine
from farmops.weather.models import DailyWeather
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.hands_page import page_of
from tests.scheduling.ground import make_dry_spring

FARM = "/farms/heron-slough/"
SIX = MONDAY + dt.timedelta(hours=6)
ENGLISH = "Rosa is away; tractor-1 is down"
DOWN = "tractor-1 is down"
SPANISH = "Rosa está ausente; tractor-1: fuera de servicio"


def only_keep(yard: Yard) -> None:
    """Say both, and plan nothing."""
    HandAway.objects.create(farm=yard.farm, hand=yard.hand, first_on=MONDAY.date(), last_on=MONDAY.date())
    Machine.objects.update(down_until=MONDAY + dt.timedelta(hours=17))


def text_at(address: str) -> str:
    return unescape(signed_in("mona").get(f"{FARM}{address}").content.decode())


@time_machine.travel(SIX, tick=False)
def test_the_week_the_sheets_and_the_things_own_page_say_it_at_once(yard: Yard) -> None:
    week, door, machine = "week/", "mail/door/", f"fleet/machine/{Machine.objects.get().pk}/"
    before = {address: text_at(address) for address in (week, door, machine)}
    assert not any(ENGLISH in page or SPANISH in page or "is down until" in page for page in before.values())
    assert SPANISH not in unescape(page_of())
    only_keep(yard)
    assert text_at(week).count(f'<small class="says-late">{ENGLISH}</small>') == 2, (
        "on the board and in its list"
    )
    assert SPANISH in text_at(door)
    assert "Tractor-1 is down until about Monday, April 20, 5:00 pm." in text_at(machine)
    page = unescape(page_of())
    assert SPANISH in page
    Machine.objects.update(down_until=None)
    Implement.objects.update(down_until=MONDAY + dt.timedelta(hours=7))
    page = unescape(page_of())
    assert SPANISH.partition(";")[0] in page
    assert "fuera de servicio" not in page, "it is back before the work begins"


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", ("Not there today: Rosa is away; tractor-1 is down", f"Pond 40: disk ({ENGLISH})")),
        (
            "es",
            (
                "Hoy no están: Rosa está ausente; tractor-1: fuera de servicio",
                f"Pond 40: rastrear ({SPANISH})",
            ),
        ),
    ],
)
def test_the_managers_mail_names_them_and_marks_their_jobs(
    yard: Yard, language: str, told: tuple[str, ...]
) -> None:
    Hand.objects.update(email="rosa@farm.example")
    User.objects.filter(username="mona").update(email="mona@farm.example", language=language)
    only_keep(yard)
    make_due(now=MONDAY + dt.timedelta(hours=5))
    texts = {}
    for row in OutboxRow.objects.select_related("farm", "user", "hand"):
        made = compose_row(row=row, now=SIX, days=FarmDays())
        assert made is not None
        texts[row.kind] = " ".join(made.sheet.text.split())
    for says in told:
        assert says in texts[SheetKind.DIGEST]
    assert f"Pregunte antes: {SPANISH}" in texts[SheetKind.HAND]


def test_days_that_are_over_lack_nothing_whatever_is_down_by_now(yard: Yard) -> None:
    """The tractor breaks on Tuesday morning: Monday's job, of which no report came, was not done without it."""
    Machine.objects.update(down_until=MONDAY + dt.timedelta(days=4))
    with time_machine.travel(SIX, tick=False):
        assert DOWN in text_at("week/")
    with time_machine.travel(SIX + dt.timedelta(days=1), tick=False):
        assert DOWN not in text_at("week/")


def test_by_an_old_record_the_days_after_it_are_still_to_come(yard: Yard) -> None:
    make_dry_spring(yard.farm)
    Machine.objects.update(down_until=MONDAY + dt.timedelta(days=4))
    with time_machine.travel(SIX + dt.timedelta(days=200), tick=False):
        assert DOWN in text_at("week/")
        last = DailyWeather.objects.order_by("day").last()
        assert last is not None
        DailyWeather.objects.create(farm=yard.farm, station=last.station, day=MONDAY.date())
        assert DOWN not in text_at("week/"), "Monday is over by the record"
