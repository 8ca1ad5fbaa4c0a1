"""How often the interpreter looks for garbage that refers to itself, while many objects are made that soon go by themselves."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager

FEWER_LOOKS = (50_000, 20, 100)
"""Thresholds of the interpreter: a look after so many new objects, where its own are 700, 10 and 10."""


@contextmanager
def fewer_looks() -> Iterator[None]:
    """Look less often for as long as the block lasts."""
    before = gc.get_threshold()
    gc.set_threshold(*FEWER_LOOKS)
    try:
        yield
    finally:
        gc.set_threshold(*before)
