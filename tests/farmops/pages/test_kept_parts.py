"""Parts of pages that are kept: whatever changes of what they say, the next look shows it."""

import re
import zlib
from collections.abc import Callable
from decimal import Decimal
from functools import partial

import pytest
from django.core.cache import cache
from django.test import Client

from farmops.core.models import User
from farmops.desk.incident_marks import incidents_mark
from farmops.farms.models import Farm, LatePlantingFacts, Membership
from farmops.pages import kept_parts
from farmops.pages.kept_parts import KeptParts
from ledger.models import Entry, FarmCategory, Payee, PostingWait
from ledger.selectors.cost_marks import lines_mark
from ledger.services.budgets import set_budget
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from ledger.services.yields import enter_yield
from tests.factories import make_field, make_season
from tests.farmops.pages.conftest import signed_in
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place, make_work
from tests.scheduling.care_facts import make_rule
from tests.scheduling.ground import make_pivot

HERE = "/farms/heron-slough/"
DAYS = "from=2026-01-01&to=2026-12-31"
PAGES = (
    "costs/",
    "costs/?by=machine",
    "budgets/",
    "cost-lines/",
    f"accounts/season/?{DAYS}",
    f"accounts/bills_owed/?{DAYS}",
)
OF_ONE_ANSWER = re.compile(r'name="csrfmiddlewaretoken" value="[^"]+"')


@pytest.fixture
def kept(db: None) -> Place:
    """A farm with some costs and a category of its own."""
    place = make_place()
    user = User.objects.create_user("bo", password="x" * 12)
    Membership.objects.create(farm=place.farm, user=user, role="bookkeeper")
    FarmCategory.objects.create(farm=place.farm, code="fence", label="fencing")
    make_work(place)
    make_bill(place, "412.37", category="fence", season=place.season)
    make_bill(place, "950.00", category="repairs", implement=place.implement)
    post_pending(now=NOON)
    return place


def seen(client: Client) -> dict[str, str]:
    pages = {}
    for page in PAGES:
        answer = client.get(f"{HERE}{page}")
        assert answer.status_code == 200, page
        pages[page] = OF_ONE_ANSWER.sub("", answer.content.decode())
    return pages


def renamed(row: object, **facts: object) -> None:
    for name, value in facts.items():
        setattr(row, name, value)
    row.save()  # type: ignore[attr-defined]


def set_cotton(farm: Farm, price: str) -> None:
    LatePlantingFacts.objects.update_or_create(
        farm=farm,
        crop="cotton",
        defaults={"yield_per_ac": Decimal(1000), "yield_unit": "lb", "price_usd": Decimal(price)},
    )


def wait(farm: Farm, says: str) -> None:
    PostingWait.objects.update_or_create(
        farm=farm,
        source_kind="bill",
        source_id=1,
        defaults={"happened_on": DAY, "code": "x", "says": says, "first_at": NOON, "checked_at": NOON},
    )


def budget(place: Place) -> None:
    set_budget(
        farm=place.farm,
        crop_year=2026,
        crop="cotton",
        category="labor",
        usd_per_ac=Decimal(12),
        corrects=False,
        entered_by=None,
        now=NOON,
    )


def harvest(place: Place) -> None:
    enter_yield(
        season=place.season,
        quantity=Decimal(40000),
        unit="lb",
        corrects=False,
        entered_by=None,
        now=NOON,
    )


def booked(do: Callable[[], object]) -> None:
    do()
    post_pending(now=NOON)


CHANGES: dict[str, Callable[[Place], object]] = {
    "work is booked": lambda place: booked(lambda: make_work(place, hand_min=90)),
    "a bill is booked": lambda place: booked(lambda: make_bill(place, "7.77", season=place.season)),
    "an entry is reversed": lambda place: reverse_entry(
        entry=Entry.objects.filter(farm=place.farm)[0], why="wrong", now=NOON
    ),
    "a field is renamed": lambda place: renamed(place.season.field, name="Low pond"),
    "a season has other acres": lambda place: renamed(place.season, area_ac=Decimal("39.5")),
    "there is another season": lambda place: make_season(
        make_field(place.farm, "sand-60", name="Sand"), crop="peanuts"
    ),
    "there is another year": lambda place: make_season(place.season.field, crop_year=2025),
    "a machine is renamed": lambda place: renamed(place.machine, name="Red tractor"),
    "an implement is renamed": lambda place: renamed(place.implement, name="Old disk"),
    "a hand is renamed": lambda place: renamed(place.hand, name="Imani Reed"),
    "a payee is renamed": lambda place: renamed(Payee.objects.get(), name="Four Rivers Supply"),
    "a category is renamed": lambda place: renamed(FarmCategory.objects.get(), label="fences and gates"),
    "a yield is expected": lambda place: set_cotton(place.farm, "0.70"),
    "another price is expected": lambda place: set_cotton(place.farm, "0.80"),
    "something waits": lambda place: wait(place.farm, "No wage of Ada holds."),
    "it waits for something else": lambda place: wait(place.farm, "No price of fuel holds."),
    "it waits no more": lambda place: PostingWait.objects.all().delete(),
    "a budget is set": budget,
    "a yield is entered": harvest,
    "a season has another crop": lambda place: renamed(place.season, crop="corn"),
    "the farm is renamed": lambda place: renamed(place.farm, name="Long Slough"),
}


@pytest.mark.long
def test_whatever_changes_is_shown_at_once(kept: Place) -> None:
    client = signed_in("bo")
    before = seen(client)
    for name, change in CHANGES.items():
        change(kept)
        now = seen(client)
        cache.clear()
        anew = seen(client)
        assert now == anew, name
        assert now != before, name
        before = now


def test_what_services_and_water_are_told_by_is_in_the_mark_of_lines(kept: Place) -> None:
    pivot = make_pivot(kept.season.field)
    rule = make_rule(kept.machine)
    marks = [lines_mark(farm=kept.farm)]
    for row, facts in (
        (rule, {"what": "change the oil"}),
        (pivot, {"name": "Far pivot"}),
        (pivot.pump, {"name": "Far well"}),
    ):
        renamed(row, **facts)
        marks.append(lines_mark(farm=kept.farm))
    assert len(set(marks)) == len(marks)


def test_a_farm_that_changes_while_a_page_is_made_of_it_changes_the_mark(kept: Place) -> None:
    marks = (partial(lines_mark, farm=kept.farm), partial(incidents_mark, farm=kept.farm))
    before = [mark() for mark in marks]
    Farm.objects.update(boss_name="K. Reed")
    assert all(mark() != then for mark, then in zip(marks, before, strict=True))


def test_each_reader_reads_his_own_language(kept: Place) -> None:
    client, user = signed_in("bo"), User.objects.get(username="bo")
    english = seen(client)
    renamed(user, language="es")
    spanish = seen(client)
    renamed(user, language="en")
    assert seen(client) == english
    cache.clear()
    renamed(user, language="es")
    assert seen(client) == spanish != english


def test_another_farm_with_the_same_things_is_another(kept: Place) -> None:
    other = make_place("fox-hollow")
    Membership.objects.create(farm=other.farm, user=User.objects.get(username="bo"), role="bookkeeper")
    client = signed_in("bo")
    seen(client)
    page = client.get("/farms/fox-hollow/costs/").content.decode()
    assert "/farms/fox-hollow/" in page
    assert "heron-slough" not in page


def test_what_changes_while_it_is_read_is_not_kept(db: None) -> None:
    marks = iter(["one", "two"])
    facts = {"options": [("a", "made while it changed")], "chosen": ""}
    KeptParts(lambda: next(marks)).part("pages/options.html", asked=1, facts=lambda: facts)
    told = iter([{"options": [("a", "<now>")], "chosen": "a"}])  # nobody asks for facts that are at hand
    for _time in range(2):
        part = KeptParts(lambda: "one").part("pages/options.html", asked=1, facts=lambda: next(told))
        assert part == '<option value="a" selected>&lt;now&gt;</option>'


def test_another_release_makes_its_parts_anew(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    def part(name: str) -> str:
        facts = {"options": [("a", name)], "chosen": ""}
        return KeptParts(lambda: "one").part("pages/options.html", asked=1, facts=lambda: facts)

    assert part("first") == part("second")
    monkeypatch.setattr(kept_parts, "release_mark", lambda: "later")
    assert "third" in part("third")


@pytest.mark.parametrize(
    "there",
    [7, "text", (), ("one",), ("one", 7), ("one", b"text"), ("one", zlib.compress(b"\xff"))],
    ids=repr,
)
def test_what_is_not_what_was_kept_is_made_anew_and_kept_over_it(
    there: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    at: dict[str, object] = {}

    def part(name: str) -> str:
        facts = {"options": [("a", name)], "chosen": ""}
        return KeptParts(lambda: "one").part("pages/options.html", asked=1, facts=lambda: facts)

    monkeypatch.setattr(cache, "get", at.get)
    monkeypatch.setattr(cache, "set", lambda key, value, _for_s: at.update({key: value}))
    assert "first" in part("first")
    at.update(dict.fromkeys(at, there))
    assert "second" in part("second")
    assert "second" in part("third")


def test_no_text_stands_for_what_is_of_one_answer(db: None) -> None:
    def facts() -> dict[str, object]:
        return {"options": [("a", "\0csrf_token\0")], "chosen": ""}

    own = {"csrf_token": lambda: "a word of one reader"}
    part = KeptParts(lambda: "one").part("pages/options.html", asked=1, facts=facts, own=own)
    assert "of one reader" not in part
