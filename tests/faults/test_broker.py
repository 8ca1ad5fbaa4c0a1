"""The broker breaks in every way inside the hour of the mail: by hand it goes on, and two minutes after its return all is sent.

A worker whose broker turns read-only ends (its library takes that for an error without remedy): it is started again
here as the compose file has the engine do it, and that counts within the two minutes.
"""

import secrets
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass

import pytest
import redis

from tests.conftest import _drop, _made
from tests.faults.brokers import Broker, Line, broker, line_to
from tests.faults.counting import CountingServer, counting
from tests.faults.sizes import SIZES
from tests.faults.stage import Stage, stage
from tests.services.postgres import PostgresAddress

pytestmark = pytest.mark.faults

SENT_WITHIN_S = 120
HANDS = 6


@dataclass
class Scene:
    """A running service whose broker can be broken."""

    broker: Broker
    line: Line
    stage: Stage
    server: CountingServer


@pytest.fixture(scope="module")
def scene(
    postgres_server: PostgresAddress,
    migrated_database: str,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Scene]:
    """One service for all breaks, one after the other: what one leaves behind, the next meets."""
    folder = tmp_path_factory.mktemp("broker")
    name = f"t_{secrets.token_hex(6)}"
    _made(postgres_server, name, like=migrated_database)
    database = postgres_server.env("FARMOPS_DB", name)
    with ExitStack() as stack:
        stack.callback(_drop, postgres_server, name)
        server = stack.enter_context(counting())
        found = stack.enter_context(broker())
        line = stack.enter_context(line_to(found.port))
        url = f"redis://127.0.0.1:{line.port}/0"
        one = stack.enter_context(stage(database=database, redis_url=url, server=server, folder=folder))
        one.start("worker")
        one.start("postman")
        one.start("beat")
        yield Scene(found, line, one, server)


def stop(scene: Scene) -> Callable[[], None]:
    scene.broker.kill()
    return scene.broker.start


def cut(scene: Scene) -> Callable[[], None]:
    scene.line.cut()
    return scene.line.mend


def flush(scene: Scene) -> Callable[[], None]:
    scene.broker.client.flushall()
    return lambda: None


def read_only(scene: Scene) -> Callable[[], None]:
    scene.broker.client.replicaof("127.0.0.1", 1)
    return lambda: scene.broker.client.replicaof("NO", "ONE")


def full(scene: Scene) -> Callable[[], None]:
    scene.broker.client.config_set("maxmemory", 1)
    return lambda: scene.broker.client.config_set("maxmemory", 0)


def evict(scene: Scene) -> Callable[[], None]:
    """Have the broker throw away keys to make room, those that bind its queues too."""
    usual = scene.broker.client.config_get("maxmemory-policy")["maxmemory-policy"]
    scene.broker.client.config_set("maxmemory-policy", "allkeys-random")
    scene.broker.client.config_set("maxmemory", 1)

    def keep() -> None:
        scene.broker.client.config_set("maxmemory", 0)
        scene.broker.client.config_set("maxmemory-policy", usual)

    return keep


def slow(scene: Scene) -> Callable[[], None]:
    scene.line.delay_s = 1.0

    def quick() -> None:
        scene.line.delay_s = 0.0

    return quick


def wait_for(scene: Scene, addresses: list[str], *, seconds: float) -> float:
    began = time.monotonic()
    while not {to for to, _identity in list(scene.server.heads)}.issuperset(addresses):
        scene.stage.keep_up()
        said = "\n".join(log.read_text(encoding="utf-8")[-2500:] for log in scene.stage.logs)
        assert time.monotonic() - began < seconds, f"not all were sent in {seconds:.0f} s\n{said}"
        time.sleep(0.2)
    return time.monotonic() - began


@pytest.mark.parametrize("breaks", [stop, cut, flush, evict, read_only, full, slow])
def test_a_broken_broker_costs_nobody_the_mail(
    scene: Scene, breaks: Callable[[Scene], Callable[[], None]]
) -> None:
    mends = breaks(scene)
    began = time.monotonic()
    by_hand = scene.stage.lay_crowd(farms=1, hands=HANDS)
    scene.stage.manage("send_sheets")
    wait_for(scene, by_hand, seconds=20)  # where workers still hear, they may have some of them in hand
    time.sleep(max(0.0, SIZES.broken_s - (time.monotonic() - began)))
    later = scene.stage.lay_crowd(farms=1, hands=HANDS)
    mends()
    waited_s = wait_for(scene, later, seconds=SENT_WITHIN_S)
    restarts = ", ".join(scene.stage.restarts) or "nothing"
    print(
        f"{breaks.__name__}: all sent {waited_s:.0f} s after the broker was back; started again so far: {restarts}"
    )
    assert max(scene.server.times().values()) == 1


def test_the_broker_that_is_broken_here_is_a_real_one(scene: Scene) -> None:
    assert scene.broker.client.ping()
    with pytest.raises(redis.ConnectionError):
        redis.Redis(host="127.0.0.1", port=1).ping()
