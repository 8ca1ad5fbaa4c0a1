"""What is dear to make, made once for all processes of a run of the suite, and taken away when the last has left."""

import fcntl
import pickle
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from pathlib import Path
from typing import IO, TypeVar

T = TypeVar("T")


@contextmanager
def _alone(file: IO[bytes]) -> Iterator[None]:
    """Hold a lock that the kernel gives back, whatever becomes of this process."""
    fcntl.flock(file, fcntl.LOCK_EX)
    try:
        yield
    finally:
        fcntl.flock(file, fcntl.LOCK_UN)


@contextmanager
def shared(folder: Path, make: Callable[[], AbstractContextManager[T]]) -> Iterator[T]:
    """Give what `make` gives: the first to come makes it, the rest are given the same, and who made it ends last."""
    folder.mkdir(parents=True, exist_ok=True)
    told = folder / "told"
    with (folder / "gate").open("wb") as gate, (folder / "users").open("wb") as users, ExitStack() as made:
        with _alone(gate):
            is_ours = not told.exists()
            if is_ours:
                thing = made.enter_context(make())
                told.write_bytes(pickle.dumps(thing))
            else:
                thing = pickle.loads(told.read_bytes())  # written by this suite a moment ago
            fcntl.flock(users, fcntl.LOCK_SH)
        try:
            yield thing
        finally:
            fcntl.flock(users, fcntl.LOCK_UN)
            if is_ours:
                with _alone(gate), _alone(users):
                    told.unlink()
                    made.close()
