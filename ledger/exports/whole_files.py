"""Files that appear whole or not at all."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from farmops.core.problems import DomainError


class FileRefused(DomainError):
    """A file that cannot be written where it was asked for."""

    code = "file_refused"


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Give a file beside the wanted one, which takes its place when it is finished. Raise FileRefused with a sentence."""
    if not path.parent.is_dir():
        raise FileRefused(f"There is no folder {path.parent} to write {path.name} into.")
    if path.is_dir():
        raise FileRefused(f"{path} is a folder; give the name of a file.")
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        os.close(handle)
        unfinished = Path(name)
        try:
            yield unfinished
            unfinished.chmod(0o644)
            unfinished.replace(path)
        finally:
            unfinished.unlink(missing_ok=True)
    except OSError as error:
        raise FileRefused(f"{path} cannot be written: {error.strerror}.") from error
