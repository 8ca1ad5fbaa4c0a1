"""A query that is put into SQL once answers as the query itself, for each value; a session that has ended is none."""

import datetime as dt
from collections.abc import Collection

import pytest
from django.contrib.sessions.models import Session
from django.db import connection
from django.db.models import QuerySet
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from farmops.core.models import User
from farmops.core.ready import Among, Ready
from farmops.core.sessions import SessionStore
from farmops.farms.models import Hand, Membership, Role, SignInLink
from farmops.farms.selectors import parts_on_farm
from tests.factories import make_farm, make_hand

pytestmark = pytest.mark.django_db


def test_the_rows_are_those_of_the_query_with_all_that_hangs_on_them() -> None:
    hands = [make_hand(make_farm(code), code) for code in ("east", "west")]
    ready = Ready(
        lambda farm, code: Hand.objects.filter(farm=farm, code=code).select_related("farm"), -1, "?"
    )
    for hand in (*hands, *hands):
        with CaptureQueriesContext(connection) as asked:
            (found,) = ready.ask(hand.farm.pk, hand.code)
            assert (found, found.farm.name, found.started_on) == (hand, hand.farm.name, hand.started_on)
        assert len(asked) == 1
    assert ready.ask(hands[0].farm.pk, "west") == []


def test_any_number_of_row_ids_days_and_instants_are_values_of_one_query() -> None:
    farms = [make_farm(code) for code in ("east", "west", "north")]
    day, noon = dt.date(2026, 4, 20), dt.datetime(2026, 4, 20, 12, tzinfo=dt.UTC)
    for farm in farms:
        hand = make_hand(farm, "rosa", started_on=day)
        SignInLink.objects.create(
            farm=farm, hand=hand, secret_hash=farm.code, made_at=noon, expires_at=noon + dt.timedelta(days=7)
        )

    def links(of: Collection[int], on: dt.date, since: dt.datetime) -> QuerySet[SignInLink]:
        rows = SignInLink.objects.filter(Among("farm_id", of), hand__started_on=on, made_at__gte=since)
        return rows.select_related("farm").order_by("farm__code")

    ready = Ready(links, (-1,), dt.date(1, 1, 1), dt.datetime(1, 1, 2, tzinfo=dt.UTC))
    a_day, a_moment = dt.timedelta(days=1), dt.timedelta(microseconds=1)
    ids = [one.pk for one in farms]
    for some in ([], ids[:1], ids[1:], set(ids)):
        codes = sorted(one.code for one in farms if one.pk in some)
        assert [one.farm.code for one in ready.ask(some, day, noon)] == codes
        assert list(links(some, day, noon)) == ready.ask(some, day, noon)
        assert ready.ask(some, day + a_day, noon) == ready.ask(some, day, noon + a_moment) == []


def test_a_sample_that_stands_elsewhere_too_is_refused() -> None:
    ready = Ready(lambda farm, code: Hand.objects.filter(farm=farm, code=code, name="x"), -1, "x")
    with pytest.raises(ValueError, match="once"):
        ready.ask(1, "east")


def test_a_part_in_a_farm_ends_when_it_is_taken_or_the_hand_has_left() -> None:
    farm = make_farm()
    hand = make_hand(farm, "rosa")
    user = User.objects.create(username="rosa")
    books = Membership.objects.create(farm=farm, user=user, role=Role.BOOKKEEPER)
    Membership.objects.create(farm=farm, user=user, role=Role.HAND, hand=hand)
    Membership.objects.create(farm=make_farm("other"), user=user, role=Role.MANAGER)

    def roles() -> set[str]:
        return {one.role for one in parts_on_farm(user, farm_code=farm.code)}

    assert roles() == {"bookkeeper", "hand"}
    Hand.objects.update(works=False)
    assert roles() == {"bookkeeper"}
    books.delete()
    assert not roles()


def test_a_session_is_found_until_it_ends_or_is_taken_away() -> None:
    store = SessionStore()
    store["word"] = "kept"
    store.save()

    def found() -> SessionStore:
        return SessionStore(store.session_key)

    assert found()["word"] == "kept"
    Session.objects.update(expire_date=timezone.now() - dt.timedelta(seconds=1))
    over = found()
    assert "word" not in over
    assert over.session_key is None
    Session.objects.update(expire_date=timezone.now() + dt.timedelta(days=1))
    assert found()["word"] == "kept"
    Session.objects.all().delete()
    assert "word" not in found()


@pytest.mark.parametrize("key", ["abc\0defghijk", "\0" * 32])
def test_a_cookie_that_is_no_text_of_a_database_is_no_session_and_none_is_asked_for(key: str) -> None:
    with CaptureQueriesContext(connection) as asked:
        store = SessionStore(key)
        assert store.get("word") is None
        assert store.session_key is None
    assert not asked.captured_queries
