"""Who has a part in which farm."""

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.models import AnonymousUser

from farmops.farms.models import Membership, Role
from farmops.farms.selectors import UnknownFarm, farm_by_code, farms_of, hand_of, roles_of
from tests.factories import make_farm, make_hand

pytestmark = pytest.mark.django_db


def test_a_farm_is_found_by_its_code_and_an_unknown_one_names_those_there_are() -> None:
    farm = make_farm("heron-slough")
    assert farm_by_code("heron-slough") == farm
    with pytest.raises(UnknownFarm, match=r"No farm has the code 'pond'\. Known farms: heron-slough"):
        farm_by_code("pond")


def test_a_user_sees_the_farms_and_roles_that_are_theirs_and_no_others() -> None:
    mine, other = make_farm("mine"), make_farm("other")
    hand = make_hand(mine, "ada")
    ada, stranger = (
        get_user_model().objects.create(username="ada"),
        get_user_model().objects.create(username="zed"),
    )
    Membership.objects.create(farm=mine, user=ada, role=Role.MANAGER)
    Membership.objects.create(farm=mine, user=ada, role=Role.HAND, hand=hand)
    Membership.objects.create(farm=other, user=stranger, role=Role.BOOKKEEPER)
    assert list(farms_of(ada)) == [mine]
    assert roles_of(ada, farm=mine) == {"manager", "hand"}
    assert roles_of(ada, farm=other) == set()
    assert hand_of(ada, farm=mine) == hand
    assert hand_of(ada, farm=other) is None
    assert hand_of(stranger, farm=other) is None


def test_nobody_signed_in_sees_nothing() -> None:
    farm = make_farm()
    nobody = AnonymousUser()
    assert list(farms_of(nobody)) == []
    assert roles_of(nobody, farm=farm) == set()
    assert hand_of(nobody, farm=farm) is None
