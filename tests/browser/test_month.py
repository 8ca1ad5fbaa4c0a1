"""A month of reports through the real forms, the network cut at random before and after the farm has stored them.

The farm's set of reports is the set that was meant, each once: promise 11 of the queue.
"""

import datetime as dt
import os
import random
from collections import Counter
from contextlib import suppress

import pytest
from playwright.sync_api import Error, Page, Route

from scheduling.models import FieldReport, FuelFill, Incident, ParkedReport, WorkDay
from tests.browser.conftest import Hour, Opened, fill_fuel
from tests.browser.test_queue import DOOR, wait_until_all_is_sent
from tests.farmops.pages.conftest import MONDAY

pytestmark = pytest.mark.browser
DAYS = 30
REPORTS = int(os.environ.get("FARMOPS_TEST_MONTH_REPORTS", "510"))


def open_folds(page: Page, kind: str) -> None:
    page.locator(f"form[data-report={kind}]").last.evaluate(
        "form => { for (let at = form; at; at = at.parentElement) if (at.tagName === 'DETAILS') at.open = true;"
        " for (const fold of form.querySelectorAll('details')) fold.open = true; }"
    )


def report_flat(page: Page, mark: str) -> None:
    open_folds(page, "incident")
    form = page.locator("form[data-report=incident]").last
    form.locator("[name=kind]").first.check()
    form.locator("[name=note]").fill(mark)
    form.locator("button:not([type=button])").last.click()


def report_hours(page: Page, mark: str) -> None:
    open_folds(page, "day")
    form = page.locator("form[data-report=day]")
    form.locator("[name=starts]").fill("07:00")
    form.locator("[name=ends]").fill("17:30")
    form.locator("[name=why_fewer]").fill(mark)
    form.locator("button:not([type=button])").last.click()


class BadSignal:
    """Lets a request through, cuts it before it arrives, or cuts the answer off; how often each is counted."""

    def __init__(self, rng: random.Random) -> None:
        self.rng, self.met = rng, Counter[str]()

    def __call__(self, route: Route) -> None:
        with suppress(Error):  # the page went away in the middle of it: cut off too
            self._meet(route)

    def _meet(self, route: Route) -> None:
        turn = self.rng.random()
        if turn < 0.2:
            self.met["cut before"] += 1
            route.abort()
        elif turn < 0.4:
            self.met["cut after"] += 1
            route.fetch()
            route.abort()
        elif turn < 0.45:
            self.met["busy"] += 1
            route.fulfill(status=503, body="")
        else:
            self.met["through"] += 1
            route.continue_()


def test_a_month_of_reports_is_stored_each_once(open_day: Opened, hour: Hour) -> None:
    rng = random.Random(20260420)
    page = open_day()
    signal = BadSignal(rng)
    page.route(DOOR, signal)
    meant: list[str] = []
    for day in range(DAYS):
        hour.at = MONDAY + dt.timedelta(days=day, hours=19)
        page.context.clock.set_fixed_time(hour.at)
        page.goto(f"/farms/heron-slough/day/?day={hour.at.date()}")
        page.wait_for_load_state()
        of_day = REPORTS * (day + 1) // DAYS - REPORTS * day // DAYS
        for number in range(of_day):
            mark = f"r{day:02}-{number:02}"
            meant.append(mark)
            if number == 0:
                report_hours(page, mark)
            elif number % 3 == 0:
                report_flat(page, mark)
            else:
                fill_fuel(page, f"{5 + number}.{day % 10}", mark)
            if rng.random() < 0.05:
                page.reload()
    page.unroute(DOOR)
    page.reload()
    wait_until_all_is_sent(page)
    marks = Counter(
        report.body.get("note") or report.body.get("why_fewer") for report in FieldReport.objects.all()
    )
    assert marks == Counter(meant)
    kept = Counter(
        [*FuelFill.objects.values_list("note", flat=True), *Incident.objects.values_list("note", flat=True)]
    ) + Counter(WorkDay.objects.values_list("why_fewer", flat=True))
    waiting = Counter(
        row.report.body.get("note") or row.report.body.get("why_fewer")
        for row in ParkedReport.objects.select_related("report")
        if not (kept[row.report.body.get("note")] or kept[row.report.body.get("why_fewer")])
    )
    assert kept + waiting == Counter(meant)
    assert min(signal.met[name] for name in ("cut before", "cut after", "busy")) >= REPORTS // 60
