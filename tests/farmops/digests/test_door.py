"""The sheet for the shop door as it is laid out: what fits on one sheet of paper in large type, and what it says of the rest."""

import datetime as dt
from dataclasses import replace

import pytest

from farmops.digests.door import SHEET_PT, door_page, height_pt
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
