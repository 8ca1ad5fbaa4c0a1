"""The sheet for the shop door as it is laid out: what fits on one sheet of paper in large type, and what it says of the rest."""

import datetime as dt
import re
from dataclasses import replace

import pytest

from farmops.digests.door import SHEET_PT, door_page, height_pt
from scheduling.slips.facts import Fetch, WayThere
from tests.farmops.digests.planned import MONDAY, at
from tests.farmops.digests.sheet_facts import sheet_day, task


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("code", ["k7q4mnp", ""])
@pytest.mark.parametrize("count", [0, 1, 5, 6, 9, 30])
def test_what_does_not_fit_on_the_sheet_is_counted_on_it_and_the_first_work_stays(
    count: int, code: str, language: str
) -> None:
    one = task()
    hours = replace(one.hours, starts_at=one.hours.starts_at)
    slips = [
        replace(one, hours=replace(hours, starts_at=hours.starts_at + dt.timedelta(minutes=number)))
        for number in range(count)
    ]
    page = door_page(sheet_day(*slips), language, code=code, code_address=f"https://farm.example/c/{code}/")
    left = count - len(page.tasks)
    assert len(page.every) == count
    assert page.tasks == page.every[: len(page.tasks)]
    assert height_pt(page) <= SHEET_PT
    assert (str(left) in page.more) if left else page.more == ""
    assert left == 0 or count > 3


@pytest.mark.parametrize(
    "name",
    [
        "Pond\r\n<script>alert(1)</script> {{ 7|add:1 }} \u202eevil\u2028end \x00\x07 \U0001f69c",
        "   ",
        "long" * 30_000,
    ],
)
@pytest.mark.parametrize("language", ["en", "es"])
def test_hostile_names_stay_on_one_line_of_paper_and_no_sheet_lacks_its_first_task(
    name: str, language: str
) -> None:
    slips = [task(field_name=name, entrance=name, machine_name=name, hours=(7 + n, 8 + n)) for n in range(4)]
    page = door_page(sheet_day(*slips, boss_name=name, farm_name=name), language)
    said = [page.headline, *page.notes, *page.warns, page.more, *page.foot, *page.cautions]
    said += [one for each in page.every for one in (each.title, *each.says, *each.warns)]
    assert len(page.tasks) >= 1
    assert all(not re.search("[\u202e\u2028\x00-\x1f]", one) for one in said)
    assert max(map(len, said)) <= 600


def test_what_is_fetched_and_when_to_leave_for_it_stand_on_the_sheet() -> None:
    way = WayThere("", 58, 12.4, fetch=(Fetch("Blue Crane"),), leave_at=at(MONDAY, 6, 2))
    page = door_page(sheet_day(task(way=way)), "en")
    assert "Fetch first: Tractor 2 at Blue Crane" in page.tasks[0].says
    assert page.tasks[0].warns == ("Leave by: 6:02 am, to be there by 7:00 am",)
