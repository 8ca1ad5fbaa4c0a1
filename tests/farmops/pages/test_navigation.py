"""The links at the top of each page: drawn once for all who find the same, and for nobody else."""

from collections.abc import Iterator

import pytest
from django.test import override_settings
from django.urls import set_script_prefix
from django.utils import translation

from farmops.core.models import User
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.navigation import navigation_of
from tests.factories import make_farm
from tests.farmops.pages.conftest import Yard, signed_in

FARMS = [Farm(code="heron-slough"), Farm(code="sand-hill")]
LIMITS = "/farms/heron-slough/limits/"


def drawn(
    *roles: str, farm: Farm = FARMS[0], place: str = "week", path: str = "/elsewhere/", language: str = "en"
) -> str:
    with translation.override(language):
        return navigation_of(farm=farm, roles=set(roles), place=place, path=path)


def test_each_finds_the_pages_of_the_roles_the_farm_the_place_and_the_language() -> None:
    for _time in range(2):
        manager = drawn(Role.MANAGER)
        assert f'href="{LIMITS}"' in manager
        assert '<a href="/farms/heron-slough/week/" aria-current="page">Week</a>' in manager
        assert manager.count("aria-current") == 1
        assert "/week/" not in drawn(Role.BOOKKEEPER)
        assert "/limits/" not in drawn(Role.BOOKKEEPER)
        assert drawn(Role.HAND).count("<a ") == 1
        assert "<a " not in drawn()
        assert 'href="/farms/sand-hill/limits/"' in drawn(Role.MANAGER, farm=FARMS[1])
        assert '<a href="/farms/heron-slough/morning/" aria-current="page">' in drawn(
            Role.MANAGER, place="morning"
        )
        assert "Semana" in drawn(Role.MANAGER, language="es")


def test_a_page_behind_more_is_told_there_and_no_page_of_the_row() -> None:
    there = drawn(Role.MANAGER, place="fields", path=LIMITS)
    assert f'<a href="{LIMITS}" aria-current="page">' in there
    assert there.count("aria-current") == 1
    assert "More: Limits" in there
    below = drawn(Role.MANAGER, place="limits", path=f"{LIMITS}zones/")
    assert below == there


@pytest.fixture
def below_a_prefix() -> Iterator[None]:
    set_script_prefix("/office/")
    yield
    set_script_prefix("/")


def test_a_service_below_a_prefix_or_with_other_addresses_has_links_of_its_own(
    below_a_prefix: None,
) -> None:
    assert f'href="/office{LIMITS}"' in drawn(Role.MANAGER)
    with override_settings(ROOT_URLCONF="rest_framework.urls"):
        assert "<a " not in drawn(Role.MANAGER)


@pytest.mark.parametrize(("name", "place"), [("mona", "week"), ("bo", "costs"), ("rosa", "day")])
def test_the_farm_alone_leads_to_what_a_role_opens_with(yard: Yard, name: str, place: str) -> None:
    """A farm that is not yours is a page that does not exist."""
    farm = f"/farms/{yard.farm.code}/"
    answer = signed_in(name).get(farm)
    assert (answer.status_code, answer.headers["Location"]) == (302, f"{farm}{place}/")
    make_farm("pine-ridge")
    assert signed_in(name).get("/farms/pine-ridge/").status_code == 404


def test_a_farm_without_fields_opens_with_setting_it_up(yard: Yard) -> None:
    Membership.objects.create(
        farm=make_farm("pine-ridge"), user=User.objects.get(username="mona"), role=Role.MANAGER
    )
    answer = signed_in("mona").get("/farms/pine-ridge/")
    assert answer.headers["Location"] == "/farms/pine-ridge/start/"
