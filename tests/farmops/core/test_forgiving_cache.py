"""A cache server that is away, full or mute: pages come all the same, and nobody guesses passwords meanwhile."""

import pickle
from socket import create_server
from time import monotonic
from typing import Any
from uuid import UUID

import pytest
from django.core.cache import caches
from redis.exceptions import ResponseError

from farmops.core import forgiving_cache
from farmops.core.forgiving_cache import ForgivingRedisCache
from tests.farmops.pages.conftest import make_yard, signed_in

NOWHERE = "redis://127.0.0.1:1/1"


@pytest.fixture(autouse=True)
def rested(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ForgivingRedisCache, "_rests_until", 0.0)


@pytest.fixture
def away(settings: Any) -> None:
    backend = "farmops.core.forgiving_cache.ForgivingRedisCache"
    settings.CACHES = {"default": {"BACKEND": backend, "LOCATION": NOWHERE}}
    assert type(caches["default"]) is ForgivingRedisCache


def test_what_cannot_be_read_or_kept_is_none_of_it_and_no_error() -> None:
    cache = ForgivingRedisCache(NOWHERE, {})
    cache.set("a", 1)
    assert cache.get("a") is None
    assert cache.get("a", 7) == 7


def test_after_a_failure_the_server_is_left_alone_for_a_while_and_then_asked_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = []

    def full(*_args: Any, **_named: Any) -> None:
        asked.append(monotonic())
        raise ResponseError("OOM command not allowed")

    cache = ForgivingRedisCache(NOWHERE, {})
    monkeypatch.setattr("django.core.cache.backends.redis.RedisCache.get", full)
    for _thrice in range(3):
        assert cache.get("a", 7) == 7
    assert len(asked) == 1
    monkeypatch.setattr(forgiving_cache, "monotonic", lambda: asked[0] + forgiving_cache.REST_S + 1)
    assert cache.get("a", 7) == 7
    assert len(asked) == 2


def test_a_mute_server_is_not_waited_for() -> None:
    with create_server(("127.0.0.1", 0)) as mute:
        options = {"socket_connect_timeout": 1, "socket_timeout": 0.2}
        address = f"redis://127.0.0.1:{mute.getsockname()[1]}/1"
        cache = ForgivingRedisCache(address, {"OPTIONS": options})
        assert cache.get("a", 7) == 7


def test_a_mistake_of_ours_is_not_forgiven(monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong(*_args: Any, **_named: Any) -> None:
        raise TypeError("no such argument")

    monkeypatch.setattr("django.core.cache.backends.redis.RedisCache.get", wrong)
    with pytest.raises(TypeError):
        ForgivingRedisCache(NOWHERE, {}).get("a")


@pytest.mark.parametrize(
    "there",
    [b"", b"text", b"(", b".", pickle.dumps(UUID(int=1))[:-9], b"cfarmops.core\nGone\n.", b"\x80\x04K."],
    ids=repr,
)
def test_bytes_that_nobody_here_wrote_are_not_kept_and_the_server_is_asked_on(
    there: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Server:
        def get(self, _key: str) -> bytes:
            return there

    client = "django.core.cache.backends.redis.RedisCacheClient.get_client"
    monkeypatch.setattr(client, lambda *_args, **_named: Server())
    cache = ForgivingRedisCache(NOWHERE, {})
    assert cache.get("a", 7) == 7
    there = pickle.dumps("kept")
    assert cache.get("a", 7) == "kept"


@pytest.mark.django_db
@pytest.mark.usefixtures("away")
@pytest.mark.parametrize("path", ["morning/", "bills/", "costs/", "sprays/", "week/", "fields/"])
def test_pages_come_without_it(path: str) -> None:
    make_yard()
    answer = signed_in("mona").get(f"/farms/heron-slough/{path}", follow=True)
    assert answer.status_code == 200


@pytest.mark.django_db
@pytest.mark.usefixtures("away")
def test_a_try_to_sign_in_that_cannot_be_counted_is_refused(client: Any) -> None:
    make_yard()
    typed = {"username": "mona", "password": "x" * 12}
    assert client.post("/api/token/", typed, content_type="application/json").status_code == 429


@pytest.mark.django_db
def test_with_it_the_same_try_is_allowed(client: Any) -> None:
    make_yard()
    typed = {"username": "mona", "password": "x" * 12}
    assert client.post("/api/token/", typed, content_type="application/json").status_code == 200
