"""Photos as files: drawn anew by a process of its own, and stored whole or not at all."""

import contextlib
import datetime as dt
import os
import subprocess
import sys
from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from farmops.core import photo_drawing

MOST_BYTES = 8 * 1024 * 1024
MOST_WAIT_S = 30
STALE = dt.timedelta(hours=24)
TEMPORARY = ".part"


class Trouble(StrEnum):
    """Why no photo came of a file."""

    NOT_A_PHOTO = "not a photo"
    TOO_MANY_PIXELS = "too many pixels"
    BROKEN = "broken"
    BUSY = "busy"


class NotDrawn(ValueError):
    """A file from which no photo was drawn, or none just now."""

    def __init__(self, trouble: Trouble) -> None:
        super().__init__(trouble.value)
        self.trouble = trouble


@dataclass(frozen=True)
class Swept:
    """What a sweep of a folder of photos found: files that no row names, which it removed, and rows without a file."""

    removed: list[str]
    missing: list[str]


def drawn_apart(content: bytes, *, most_wait_s: float = MOST_WAIT_S) -> bytes:
    """Return a photo drawn anew as a JPEG, by a process with limits of memory and time; raises NotDrawn."""
    program = [sys.executable, "-I", str(Path(photo_drawing.__file__))]
    try:
        done = subprocess.run(
            program, input=content, capture_output=True, timeout=most_wait_s, env={}, check=False
        )
    except subprocess.TimeoutExpired as error:  # its own limit ends what is too much; this machine is busy
        raise NotDrawn(Trouble.BUSY) from error
    if done.returncode == photo_drawing.NOT_A_PHOTO:
        raise NotDrawn(Trouble.NOT_A_PHOTO)
    if done.returncode == photo_drawing.TOO_MANY_PIXELS:
        raise NotDrawn(Trouble.TOO_MANY_PIXELS)
    if done.returncode != photo_drawing.DRAWN or not done.stdout:
        raise NotDrawn(Trouble.BROKEN)
    return done.stdout


def store_whole(path: Path, content: bytes) -> None:
    """Write the bytes beside their place, to the disk, and move them there whole; raises OSError, and leaves nothing."""
    part = path.with_suffix(TEMPORARY)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError:
        with contextlib.suppress(OSError):
            part.unlink()
        with contextlib.suppress(OSError):
            path.unlink()
        raise


def sweep_folder(*, folder: Path, named: Collection[str], now: dt.datetime) -> Swept:
    """Remove files of a folder that no row names and that are a day old, and tell names without a file."""
    found = {path.relative_to(folder).as_posix(): path for path in folder.glob("*/*") if path.is_file()}
    removed = []
    for name, path in sorted(found.items()):
        written_at = dt.datetime.fromtimestamp(path.stat().st_mtime, dt.UTC)
        if name not in named and written_at < now - STALE:
            path.unlink(missing_ok=True)
            removed.append(name)
    return Swept(removed, sorted(set(named) - found.keys()))
