"""The pages of orders of work: copied, changed step by step without a script, laid out, taken back, in both languages."""

import datetime as dt
import re
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Farm
from scheduling.models import FieldPass, OrderLaying, OrderOfWork, OrderVersion
from scheduling.selectors.orders import kept
from tests.factories import make_farm, make_field, make_season
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document

ORDERS = "/farms/heron-slough/orders/"
OURS = f"{ORDERS}of/cotton-disk-and-bed/"
OTHER_ID = "6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11"
NOW = dt.datetime(2026, 1, 12, 11, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def january(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


def read(answer: Any, status: int = 200) -> str:
    page = answer.content.decode()
    assert answer.status_code == status
    assert Document(page).wrong == []
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page)))


def copied() -> Any:
    mona = signed_in("mona")
    read(mona.post(f"{ORDERS}copy/", {"source": "shipped", "key": "cotton-disk-and-bed"}, follow=True))
    return mona


def pressed(mona: Any, do: str, status: int = 200, **boxes: str) -> str:
    seen = str(OrderOfWork.objects.get().newest_no)
    return read(mona.post(f"{OURS}change/", {"seen": seen, "do": do, **boxes}, follow=True), status)


def works() -> list[str]:
    return [one.key for one in kept(OrderOfWork.objects.get()).order.steps]


def test_an_order_is_copied_and_changed_step_by_step_with_plain_forms(yard: Yard) -> None:
    page = read(signed_in("mona").get(ORDERS))
    assert "No order of work is kept yet: copy one to start from" in page
    assert "Peanuts, disk and bed" in page
    mona = copied()
    page = read(mona.get(OURS))
    assert "For cotton, disk and bed, planted April 20 to May 20. Days below are those of 2026." in page
    assert "within 21 days of step 2 (disk)" in page
    assert "no implement of the farm does it: hire it, or add one" in page
    before = works()
    assert "Kept: another order of steps." in pressed(mona, "up sidedress")
    assert works() == [*before[:4], "sidedress", "spray", *before[6:]]
    assert "Nothing was changed." in pressed(mona, "up disk")
    assert "took out step 2 (disk)" in pressed(mona, "remove disk-2")
    page = pressed(mona, "add sidedress", operation="spray")
    assert "added step 5 (spray)" in page
    assert "Change step 5, spray" in page, "its form is open"
    typed = {"operation": "spray", "after": "plant", "least_days": "10", "most_days": "9"}
    page = pressed(mona, "step spray-2", 422, **typed)
    assert "Step 5 (spray): at least 10 days are more than the 9 at most." in page
    page = pressed(mona, "step spray-2", 422, **(typed | {"most_days": "many"}))
    assert "“many” is not a number." in page
    page = pressed(mona, "step spray-2", **(typed | {"most_days": "40", "leave_usd_per_ac": "12.50"}))
    assert "10 to 40 days after step 3 (plant)" in page
    assert "$12.50 an acre left undone" in page
    count = OrderVersion.objects.count()
    page = pressed(mona, "down plant", 422)
    assert "Not kept. Step 3 (sidedress) waits for step 4 (plant), and step 4 (plant) comes after it" in page
    assert OrderVersion.objects.count() == count
    stale = read(mona.post(f"{OURS}change/", {"seen": "1", "do": "down disk"}, follow=True))
    assert "Somebody changed this order of work meanwhile" in stale
    page = read(mona.get(f"{OURS}?version=1"))
    assert "This is what it said in version 1; it is only read." in page
    assert "rip and bed" in page
    assert "Keep the step" not in page
    file = mona.get(f"{OURS}file/").json()
    assert (file["format"], file["steps"][4]["most_days"]) == ("order-of-work/1", 40)


def test_an_order_is_looked_at_on_its_fields_laid_out_and_taken_back(yard: Yard) -> None:
    season = yard.field_pass.season
    other = make_season(make_field(yard.farm, "gin-20"))
    mona = copied()
    page = read(mona.get(f"{OURS}lay/?year=2026&all=yes"))
    assert "Gin 20" in page
    assert "one pass on it" in page
    late = read(
        mona.get(
            f"{OURS}lay/", {"year": "2026", "season": [season.pk, other.pk], f"to-{other.pk}": "2026-01-15"}
        )
    )
    assert "It does not fit one field, so nothing can be laid out yet." in late
    assert "the planting window begins on" in late or "planting window ends before it begins" in late
    asked = {"year": "2026", "season": [str(season.pk), str(other.pk)]}
    answer = mona.get(f"{OURS}lay/", asked)
    page = read(answer)
    assert "passes on two fields for crop year 2026, not laid out yet." in page
    assert "stands already" in page
    assert "left out: no pivot here" in page
    assert FieldPass.objects.count() == 1
    boxes = dict(re.findall(r'name="(seen|client_id)" value="([^"]+)"', answer.content.decode()))
    stale = read(mona.post(f"{OURS}lay/", asked | boxes | {"seen": "0"}), 412)
    assert "look at it once more" in stale
    assert FieldPass.objects.count() == 1
    page = read(mona.post(f"{OURS}lay/", asked | boxes, follow=True))
    assert "Laid out. The passes wait for the next plan." in page
    assert "waiting, Apr 20 to May 20" in page
    read(mona.post(f"{OURS}lay/", asked | boxes, follow=True))
    laying = OrderLaying.objects.get()
    planted = FieldPass.objects.get(season=other, operation="plant")
    assert (planted.earliest_on, planted.due_on) == (dt.date(2026, 4, 20), dt.date(2026, 5, 20))
    FieldPass.objects.filter(pk=planted.pk).update(state="under_way")
    page = read(mona.post(f"{ORDERS}laid/{laying.pk}/back/"), 409)
    assert "“Gin 20 plant” was sent, begun or done already" in page
    FieldPass.objects.filter(pk=planted.pk).update(state="waiting")
    page = read(mona.post(f"{ORDERS}laid/{laying.pk}/back/", follow=True))
    assert "Taken back: the fields are as they were before." in page
    assert list(FieldPass.objects.all()) == [yard.field_pass]


def test_very_many_fields_are_laid_out_as_long_work(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("farmops.pages.views.order_laying.MANY_FIELDS", 1)
    season = make_season(make_field(yard.farm, "gin-20"))
    mona = copied()
    asked = {"year": "2026", "season": [str(season.pk)]}
    boxes = dict(
        re.findall(
            r'name="(seen|client_id)" value="([^"]+)"', mona.get(f"{OURS}lay/", asked).content.decode()
        )
    )
    page = read(mona.post(f"{OURS}lay/", asked | boxes, follow=True))
    assert "The order of work is laid out on 1 field." in page
    assert OrderLaying.objects.get().fields.get().season == season
    page = read(mona.post(f"{OURS}lay/", asked | boxes | {"seen": "0", "client_id": OTHER_ID}, follow=True))
    assert "look at it once more" in page
    assert OrderLaying.objects.count() == 1


def test_the_pages_speak_spanish_and_are_the_managers_alone(yard: Yard) -> None:
    mona = copied()
    User.objects.filter(username="mona").update(language="es")
    page = read(mona.get(OURS))
    assert "Algodón" in page
    assert "sembrar" in page
    assert "Step" not in page
    assert "de 35 a 55 días después del paso 4 (sembrar)" in page
    assert "days after step" not in page
    assert "common practice" not in page
    assert "Días de siembra: la guía de producción de University of Georgia" in page
    other = make_farm("other-place")
    assert mona.get(OURS.replace("heron-slough", other.code)).status_code == 404
    assert signed_in("bo").get(OURS).status_code == 403


def test_pages_take_the_same_number_of_queries_however_much_there_is(yard: Yard) -> None:
    mona = copied()
    seasons = [yard.field_pass.season]
    asked = {"year": "2026", "season": [str(one.pk) for one in seasons]}

    def counted() -> list[int]:
        counts = []
        for address, query in ((ORDERS, {}), (OURS, {"step": "plant"}), (f"{OURS}lay/", asked)):
            with CaptureQueriesContext(connection) as queries:
                read(mona.get(address, query))
            counts.append(len(queries))
        return counts

    few = counted()
    grown(yard.farm, seasons, mona)
    asked["season"] = [str(one.pk) for one in seasons]
    assert counted() == few


def grown(farm: Farm, seasons: list[Any], mona: Any) -> None:
    seasons += [make_season(make_field(farm, f"more-{number}")) for number in range(5)]
    mona.post(f"{ORDERS}copy/", {"source": "own", "key": "cotton-disk-and-bed"})
    seen = "1"
    mona.post(f"{OURS}change/", {"seen": seen, "do": "copy spray"})
