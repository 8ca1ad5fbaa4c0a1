"""What is dear to make is made once, and stays for as long as anybody has it."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from threading import Event, Thread

import pytest

from tests.services import once


def test_all_are_given_the_same_and_the_maker_waits_for_the_last(tmp_path: Path) -> None:
    told: list[str] = []

    @contextmanager
    def make() -> Iterator[str]:
        told.append("made")
        yield f"thing {told.count('made')}"
        told.append("taken away")

    first, leave = ExitStack(), Event()

    def other() -> None:
        with once.shared(tmp_path / "thing", make) as thing:
            told.append(thing)
            had.set()
            leave.wait(20)
            told.append("left")

    had, beside = Event(), Thread(target=other)
    assert first.enter_context(once.shared(tmp_path / "thing", make)) == "thing 1"
    beside.start()
    assert had.wait(20)
    ending = Thread(target=first.close)
    ending.start()
    ending.join(0.2)
    assert ending.is_alive()
    leave.set()
    ending.join(20)
    beside.join(20)
    assert told == ["made", "thing 1", "left", "taken away"]
    with once.shared(tmp_path / "thing", make) as again:
        assert again == "thing 2"


def test_what_could_not_be_made_is_made_by_the_next(tmp_path: Path) -> None:
    @contextmanager
    def broken() -> Iterator[str]:
        raise RuntimeError("no server")
        yield ""

    @contextmanager
    def whole() -> Iterator[str]:
        yield "server"

    with pytest.raises(RuntimeError, match="no server"), once.shared(tmp_path / "thing", broken):
        pass
    with once.shared(tmp_path / "thing", whole) as thing:
        assert thing == "server"
