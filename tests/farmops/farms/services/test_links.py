"""Links that sign a hand in: what is kept of them, how long they work, what they open, how they are taken back."""

import datetime as dt
import math
from collections import Counter

import pytest
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from farmops.core.models import User
from farmops.farms.models import Farm, Hand, Membership, Role, SignInLink
from farmops.farms.selectors import (
    farms_of,
    hand_of,
    is_session_of_link_open,
    link_of_secret,
    roles_of,
    unrevoked_links,
)
from farmops.farms.services import links
from farmops.farms.services.links import (
    LINK_DAYS,
    MOST_DAYS,
    LinkNotOpen,
    LinkRefused,
    LinkState,
    make_link,
    new_link,
    revoke_link,
    revoke_links,
    state_of,
    store_links,
    use_link,
)
from tests.factories import make_farm

NOW = dt.datetime(2026, 4, 20, 9, tzinfo=dt.UTC)
DAY = dt.timedelta(days=1)


@pytest.fixture
def farm(db: None) -> Farm:
    return make_farm()


@pytest.fixture
def hand(farm: Farm) -> Hand:
    return Hand.objects.create(farm=farm, code="imani", name="Imani", language="es")


@pytest.fixture
def boss(farm: Farm) -> User:
    user = User.objects.create_user("mona", password="x" * 12)
    Membership.objects.create(farm=farm, user=user, role=Role.MANAGER)
    return user


def made(hand: Hand, now: dt.datetime = NOW, days: int = LINK_DAYS) -> SignInLink:
    link = link_of_secret(make_link(farm=hand.farm, hand=hand, now=now, days=days))
    assert link is not None
    return link


def test_of_a_secret_only_its_hash_is_kept(hand: Hand) -> None:
    secret = make_link(farm=hand.farm, hand=hand, now=NOW)
    row = SignInLink.objects.values().get()
    assert secret not in str(row)
    # the sum of `printf abc | sha256sum`, as FIPS 180-2 prints it in its appendix B.1
    row_of_abc = SignInLink.objects.create(
        farm=hand.farm,
        hand=hand,
        secret_hash="ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
        made_at=NOW,
        expires_at=NOW + DAY,
    )
    assert link_of_secret("abc") == row_of_abc


def test_a_secret_cannot_be_guessed_and_no_two_are_alike(hand: Hand) -> None:
    """At least 64 bits of chance, as OWASP's Session Management Cheat Sheet asks for; all signs are drawn alike often."""
    secrets = {make_link(farm=hand.farm, hand=hand, now=NOW) for _ in range(60)}
    assert len(secrets) == 60
    drawn = Counter("".join(secrets))
    assert {len(secret) for secret in secrets} == {26}
    assert 26 * math.log2(len(drawn)) >= 128
    assert max(drawn.values()) < 3 * min(drawn.values()), "some sign is drawn far more often than another"


def test_every_sign_of_a_secret_is_as_likely_as_any_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawn from every byte once, each sign stands there as often as any other; what is short is drawn on."""
    every = bytes([*range(248, 256), *range(248)])
    drawn = [every]
    monkeypatch.setattr(links, "SECRET_LENGTH", 8 * len(links.SIGNS))
    monkeypatch.setattr(links.secrets, "token_bytes", lambda _count: drawn.pop())
    assert Counter(links._secret()) == dict.fromkeys(links.SIGNS, 8)
    drawn[:] = [every, every[:8]]  # of those eight none counts
    assert len(links._secret()) == 8 * len(links.SIGNS)


def test_a_secret_can_be_read_from_paper_and_typed_with_capitals(hand: Hand) -> None:
    """0 and o, 1, l and i are taken for each other; a hyphen at the end of a line is left out: common practice."""
    secret = make_link(farm=hand.farm, hand=hand, now=NOW)
    assert secret.isascii()
    assert secret.isalnum()
    assert set(secret).isdisjoint("01oil")
    link = link_of_secret(secret)
    assert link is not None
    assert link_of_secret(secret.upper()) == link


def test_links_are_stored_together_as_they_were_made_or_none_is(hand: Hand) -> None:
    (one, first), (two, second) = (new_link(farm=hand.farm, hand=hand, now=NOW) for _link in range(2))
    store_links([])
    with pytest.raises(IntegrityError), transaction.atomic():
        store_links([first, second, first])
    assert not SignInLink.objects.exists()
    store_links([first, second])
    for secret in (one, two):
        link = link_of_secret(secret)
        assert link is not None
        assert (link.farm, link.hand, link.made_at) == (hand.farm, hand, NOW)
        assert (link.expires_at, link.revoked_at, link.revoked_by) == (NOW + LINK_DAYS * DAY, None, None)


@pytest.mark.parametrize(
    "altered", [lambda s: s[:-1], lambda s: s + "A", lambda s: s[::-1], lambda s: "", lambda s: "\ud800"]
)
def test_an_altered_secret_is_nobodys(hand: Hand, altered: object) -> None:
    secret = make_link(farm=hand.farm, hand=hand, now=NOW)
    assert link_of_secret(secret) is not None
    assert link_of_secret(altered(secret)) is None  # type: ignore[operator]


def test_a_link_works_for_its_days_to_the_second(hand: Hand) -> None:
    link = made(hand, days=2)
    last = NOW + 2 * DAY - dt.timedelta(seconds=1)
    assert state_of(link, now=last) is LinkState.OPEN
    use_link(link=link, now=last)
    assert state_of(link, now=NOW + 2 * DAY) is LinkState.EXPIRED
    with pytest.raises(LinkNotOpen):
        use_link(link=link, now=NOW + 2 * DAY)


@pytest.mark.parametrize("days", [0, -1, MOST_DAYS + 1])
def test_a_link_for_no_days_or_for_ever_is_not_made(hand: Hand, days: int) -> None:
    with pytest.raises(LinkRefused, match="1 to 31 days"):
        make_link(farm=hand.farm, hand=hand, now=NOW, days=days)


def test_no_link_is_made_for_a_hand_of_another_farm_or_one_who_left(hand: Hand) -> None:
    with pytest.raises(LinkRefused, match="no hand of"):
        make_link(farm=make_farm("other-bend"), hand=hand, now=NOW)
    hand.works = False
    with pytest.raises(LinkRefused, match="work here"):
        make_link(farm=hand.farm, hand=hand, now=NOW)
    assert not SignInLink.objects.exists()


def test_using_a_link_signs_in_an_account_that_is_this_hand_and_nothing_else(hand: Hand) -> None:
    make_farm("other-bend")
    user = use_link(link=made(hand), now=NOW)
    assert not user.has_usable_password()
    assert not user.is_staff
    assert not user.is_superuser
    assert [one.code for one in farms_of(user)] == ["heron-slough"]
    assert roles_of(user, farm=hand.farm) == {"hand"}
    assert hand_of(user, farm=hand.farm) == hand
    assert (user.get_full_name(), user.language) == ("Imani", "es")


def test_the_link_of_a_manager_who_drives_too_brings_no_manager_in(
    farm: Farm, hand: Hand, boss: User
) -> None:
    Membership.objects.create(farm=farm, user=boss, role=Role.HAND, hand=hand)
    user = use_link(link=made(hand), now=NOW)
    assert user != boss
    assert roles_of(user, farm=farm) == {"hand"}
    assert hand_of(user, farm=farm) == hand


def test_the_account_of_links_is_nobodys_who_chose_a_name(hand: Hand) -> None:
    """Django's own rule for names that people choose (UnicodeUsernameValidator) lets no colon in."""
    for name in (hand.code, f"link-{hand.pk}", f"link{hand.pk}"):
        User.objects.create_user(name, password="x" * 12)
    user = use_link(link=made(hand), now=NOW)
    assert not user.has_usable_password()
    with pytest.raises(ValidationError):
        UnicodeUsernameValidator()(user.username)


def test_a_link_used_again_is_the_same_account_and_says_when(hand: Hand) -> None:
    link = made(hand)
    first = use_link(link=link, now=NOW)
    password = first.password
    assert use_link(link=made(hand), now=NOW + DAY) == first
    assert use_link(link=link, now=NOW + DAY) == first
    first.refresh_from_db()
    link.refresh_from_db()
    assert first.password == password
    assert link.last_used_at == NOW + DAY
    assert User.objects.count() == Membership.objects.count() == 1


def test_a_revoked_link_signs_nobody_in_and_ends_what_it_opened(hand: Hand, boss: User) -> None:
    link, other = made(hand), made(hand)
    use_link(link=link, now=NOW)
    assert revoke_link(link=link, by=boss, now=NOW + DAY)
    assert not is_session_of_link_open(link.pk)
    assert is_session_of_link_open(other.pk)
    link.refresh_from_db()
    assert (link.revoked_at, link.revoked_by) == (NOW + DAY, boss)
    assert state_of(link, now=NOW + DAY) is LinkState.REVOKED
    with pytest.raises(LinkNotOpen):
        use_link(link=link, now=NOW)
    assert not revoke_link(link=link, by=boss, now=NOW + 2 * DAY)
    link.refresh_from_db()
    assert link.revoked_at == NOW + DAY


def test_all_links_of_a_hand_or_of_the_farm_go_at_once_and_no_other_farms(hand: Hand, boss: User) -> None:
    elsewhere = make_farm("other-bend")
    stranger = Hand.objects.create(farm=elsewhere, code="imani", name="Imani")
    second = Hand.objects.create(farm=hand.farm, code="rosa", name="Rosa")
    of_hand, of_second, of_stranger = [made(hand), made(hand, NOW - 9 * DAY)], made(second), made(stranger)
    assert revoke_links(farm=hand.farm, by=boss, now=NOW, hand=hand) == len(of_hand)
    assert [is_session_of_link_open(one.pk) for one in (*of_hand, of_second)] == [False, False, True]
    assert revoke_links(farm=hand.farm, by=boss, now=NOW) == 1
    assert revoke_links(farm=hand.farm, by=boss, now=NOW) == 0
    assert is_session_of_link_open(of_stranger.pk)


def test_a_link_that_expires_leaves_who_came_in_by_it_where_he_is(hand: Hand) -> None:
    link = made(hand, days=1)
    use_link(link=link, now=NOW)
    assert state_of(link, now=NOW + 3 * DAY) is LinkState.EXPIRED
    assert is_session_of_link_open(link.pk)


def test_who_leaves_the_farm_is_signed_out_and_comes_in_no_more(hand: Hand) -> None:
    link = made(hand)
    Hand.objects.update(works=False)
    link = SignInLink.objects.select_related("hand").get(pk=link.pk)
    assert state_of(link, now=NOW) is LinkState.LEFT
    assert not is_session_of_link_open(link.pk)
    with pytest.raises(LinkNotOpen):
        use_link(link=link, now=NOW)


def test_an_account_that_was_closed_stays_closed(hand: Hand) -> None:
    link = made(hand)
    user = use_link(link=link, now=NOW)
    User.objects.filter(pk=user.pk).update(is_active=False)
    with pytest.raises(LinkNotOpen, match="closed"):
        use_link(link=link, now=NOW + DAY)
    link.refresh_from_db()
    assert link.last_used_at == NOW


def test_links_are_listed_newest_first_without_revoked_and_long_expired_ones(hand: Hand, boss: User) -> None:
    old, new, gone = made(hand, NOW - 3 * DAY), made(hand), made(hand)
    made(hand, NOW - 30 * DAY)
    made(Hand.objects.create(farm=make_farm("other-bend"), code="x", name="X"))
    revoke_link(link=gone, by=boss, now=NOW)
    assert list(unrevoked_links(farm=hand.farm, since=NOW)) == [new, old]
