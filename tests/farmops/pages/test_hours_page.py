"""The page of hours, and the same as a file."""

import csv
import datetime as dt
import io
import re
import uuid
from html import unescape
from typing import Any

import pytest

from farmops.farms.models import Hand
from scheduling.models import WorkDay
from tests.factories import make_farm, make_hand
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.scheduling.ground import NEW_YORK

HOURS = "/farms/heron-slough/hours/"
MONDAY = dt.date(2026, 4, 20)


def say_day(hand: Hand, day: dt.date = MONDAY, **facts: Any) -> None:
    begins = dt.datetime.combine(day, dt.time(7), NEW_YORK)
    defaults = {
        "starts_at": begins,
        "ends_at": begins + dt.timedelta(hours=9),
        "break_min": 30,
        "worked_min": 510,
        "offered_min": 600,
    }
    WorkDay.objects.create(
        farm=hand.farm,
        client_id=uuid.uuid4(),
        hand=hand,
        work_on=day,
        recorded_at=begins + dt.timedelta(hours=12),
        **{**defaults, **facts},
    )


def reason(yard: Yard, **change: str) -> dict[str, str]:
    facts = {"client_id": str(uuid.uuid4()), "hand": str(yard.hand.pk), "day": "2026-04-20", "why": "rain"}
    return {**facts, **change}


def page_of(query: str, user: str = "mona") -> str:
    answer = signed_in(user).get(HOURS + query)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert Document(page).wrong == []
    return unescape(page)


def file_of(query: str) -> list[dict[str, str]]:
    answer = signed_in("bo").get(f"{HOURS}file/{query}")
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


def test_a_week_shows_each_day_with_its_reason(yard: Yard) -> None:
    say_day(yard.hand, why_fewer="rain")
    page = page_of("?week=2026-04-22")
    assert "Monday, April 20 to Sunday, April 26, 2026" in page
    assert "7:00 am to 4:00 pm, 30 min break" in page
    for said in ("10 h", "8 h 30", "rain", "?week=2026-04-13"):
        assert said in page


def test_a_day_with_fewer_hours_and_no_reason_stands_out(yard: Yard) -> None:
    say_day(yard.hand)
    page = page_of("?week=2026-04-20")
    assert "1 h 30 fewer, and nobody says why" in page
    assert "one day with fewer has no reason" in page, "and not Tuesday to Saturday, of which nothing is told"


def test_the_office_says_why_where_nobody_did_and_no_hour_changes(yard: Yard) -> None:
    say_day(yard.hand)
    page = page_of("?week=2026-04-20")
    assert 'aria-label="Why fewer: Rosa, Mon Apr 20"' in page
    facts = {"client_id": str(uuid.uuid4()), "hand": str(yard.hand.pk), "day": "2026-04-20", "why": "rain"}
    for user in ("bo", "mona"):
        answer = signed_in(user).post(f"{HOURS}why/", facts)
        assert (answer.status_code, answer["Location"]) == (302, f"{HOURS}?week=2026-04-20")
    assert WorkDay.objects.filter(superseded_by__isnull=True).count() == 1
    page = page_of("?week=2026-04-20")
    assert "nobody says why" not in page
    (line,) = [one for one in file_of("?week=2026-04-20") if one["day"] == "2026-04-20"]
    assert (line["worked_h"], line["offered_h"], line["why_fewer"]) == ("8.50", "10.00", "rain")


def test_a_reason_for_a_day_that_nobody_reported_is_no_report_of_it(yard: Yard) -> None:
    """The plan had Rosa on Monday; of her work nothing came in."""
    facts = {
        "client_id": str(uuid.uuid4()),
        "hand": str(yard.hand.pk),
        "day": "2026-04-20",
        "why": "she was ill",
    }
    assert "nobody says why" in page_of("?week=2026-04-20")
    signed_in("bo").post(f"{HOURS}why/", facts)
    (line,) = [one for one in file_of("?week=2026-04-20") if one["day"] == "2026-04-20"]
    assert (line["reported"], line["worked_h"], line["why_fewer"]) == ("no", "0.00", "she was ill")
    say_day(yard.hand, worked_min=60, offered_min=None)
    (line,) = [one for one in file_of("?week=2026-04-20") if one["day"] == "2026-04-20"]
    assert (line["reported"], line["worked_h"], line["why_fewer"]) == ("yes", "1.00", "she was ill")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"why": " "}, "Why: it is empty"),
        ({"why": "rain\x07"}, "cannot be kept"),
        ({"why": "r" * 201}, "Why has 201 characters"),
        ({"day": "2199-04-20"}, "has not come yet"),
    ],
)
def test_a_reason_that_cannot_be_stands_at_its_day_again(
    yard: Yard, change: dict[str, str], says: str
) -> None:
    facts = reason(yard, **change)
    answer = signed_in("bo").post(f"{HOURS}why/", facts)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert Document(page).wrong == []
    box = re.findall(r'<input name="why"[^>]*aria-invalid="true"[^>]*>', page)
    assert len(box) == 1
    assert f'value="{facts["why"]}"' in box[0]
    at = f"wrong-{yard.hand.pk}-{facts['day']}"
    assert f'aria-describedby="{at}"' in box[0]
    assert says in unescape(page.partition(f'id="{at}"')[2].partition("</span>")[0])
    assert f'href="{HOURS}?week=' in page, "the answer has another address than the week"
    assert not WorkDay.objects.exists()


def test_a_reason_typed_anew_into_a_form_that_was_kept_is_refused_once(yard: Yard) -> None:
    """The form of before, to which a browser goes back, has an id that is kept; the one that comes back has a new one."""
    facts = reason(yard)
    assert signed_in("bo").post(f"{HOURS}why/", facts).status_code == 302
    page = signed_in("bo").post(f"{HOURS}why/", facts | {"why": "she was ill"}).content.decode()
    assert 'value="she was ill"' in page
    form = page.partition(f'action="{HOURS}why/"')[2].partition("</form>")[0]
    fresh = dict(re.findall(r'name="(client_id|hand|day)" value="([^"]+)"', form))
    assert signed_in("bo").post(f"{HOURS}why/", fresh | {"why": "she was ill"}).status_code == 302
    assert WorkDay.objects.get(superseded_by__isnull=True).why_fewer == "she was ill"


def test_a_reason_of_a_hand_who_works_here_no_more_is_refused_in_words(yard: Yard) -> None:
    Hand.objects.filter(pk=yard.hand.pk).update(works=False)
    answer = signed_in("bo").post(f"{HOURS}why/", reason(yard, day="2199-04-20"))
    assert "has not come yet" in answer.content.decode()


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "soon", ""])
def test_a_day_that_no_form_asks_for_is_no_page(yard: Yard, day: str) -> None:
    assert signed_in("bo").post(f"{HOURS}why/", reason(yard, day=day)).status_code == 404


def test_only_the_office_of_the_farm_says_why(yard: Yard) -> None:
    stranger = make_hand(make_farm("other-farm"))
    facts = {"client_id": str(uuid.uuid4()), "hand": str(stranger.pk), "day": "2026-04-20", "why": "rain"}
    assert signed_in("rosa").post(f"{HOURS}why/", facts).status_code == 403
    assert signed_in("mona").post(f"{HOURS}why/", facts).status_code == 404
    assert signed_in("mona").post(f"{HOURS}why/", {**facts, "hand": "x"}).status_code == 404
    assert signed_in("mona").get(f"{HOURS}why/").status_code == 302


def test_hours_that_nobody_offered_are_told_apart(yard: Yard) -> None:
    """By hand: 8.5 h on a Monday of 10 offered, 3 h on a Sunday of none."""
    say_day(yard.hand, why_fewer="rain")
    say_day(yard.hand, MONDAY + dt.timedelta(days=6), worked_min=180, offered_min=None)
    assert "offered were worked, and 3 h that nobody offered" in page_of("?week=2026-04-20")


def test_a_week_without_hours_says_so(yard: Yard) -> None:
    assert "Nobody has reported hours of this week yet." in page_of("?week=2026-03-02")


@pytest.mark.parametrize("query", ["", "?week=soon", "?week=2026-02-30", "?week=99999-01-01"])
def test_what_is_no_day_shows_the_week_that_is_now(query: str, yard: Yard) -> None:
    assert "the week before" in page_of(query)


def test_the_file_has_a_line_a_hand_and_day(yard: Yard) -> None:
    say_day(yard.hand, why_fewer="rain")
    lines = [line for line in file_of("?week=2026-04-20") if line["reported"] == "yes"]
    assert lines == [
        {
            "hand": "rosa",
            "name": "Rosa",
            "day": "2026-04-20",
            "starts": "07:00",
            "ends": "16:00",
            "break_h": "0.50",
            "offered_h": "10.00",
            "offered_by": "stated",
            "worked_h": "8.50",
            "on_work_h": "0.00",
            "fewer_h": "1.50",
            "why_fewer": "rain",
            "reported": "yes",
            "reports_waiting": "0",
        }
    ]


def test_no_cell_of_the_file_is_a_formula(yard: Yard) -> None:
    """OWASP, CSV injection: text that starts with = is not to be reckoned by a spreadsheet."""
    say_day(yard.hand, why_fewer='=HYPERLINK("http://x.example";"pay")')
    assert file_of("?week=2026-04-20")[0]["why_fewer"].startswith("'=HYPERLINK")


def test_a_file_covers_the_days_that_are_asked_for(yard: Yard) -> None:
    say_day(yard.hand)
    say_day(yard.hand, MONDAY + dt.timedelta(days=30))
    lines = file_of("?first=2026-04-20&last=2026-05-20")
    assert [line["day"] for line in lines if line["reported"] == "yes"] == ["2026-04-20", "2026-05-20"]
    client = signed_in("bo")
    assert client.get(f"{HOURS}file/?first=2026-04-20&last=2026-04-19").status_code == 400
    assert client.get(f"{HOURS}file/?first=2020-01-01&last=2026-04-19").status_code == 400


def test_a_hand_does_not_see_the_hours_of_others(yard: Yard) -> None:
    for path in (HOURS, f"{HOURS}file/"):
        assert signed_in("rosa").get(path).status_code == 403
        assert signed_in("mona").get(path.replace("heron-slough", "other-farm")).status_code == 404
