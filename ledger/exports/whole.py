"""Files that appear whole or not at all, and the refusal of one that cannot be written."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from xlsxwriter.exceptions import FileCreateError

from farmops.core.problems import DomainError


class ExportRefused(DomainError):
    """A file that cannot be written as asked."""

    code = "export_refused"


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Give a file beside the wanted one, which takes its place when it is finished."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    os.close(handle)
    unfinished = Path(name)
    try:
        yield unfinished
        unfinished.chmod(0o644)
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)


@contextmanager
def refusing(path: Path) -> Iterator[None]:
    """Turn what the disk says about a path into a refusal in a sentence."""
    if not path.parent.is_dir():
        raise ExportRefused(f"There is no folder {path.parent} to write {path.name} into.")
    try:
        yield
    except OSError as error:
        raise ExportRefused(f"{path} cannot be written: {error.strerror}.") from error
    except FileCreateError as error:
        raise ExportRefused(f"{path} cannot be written: {error}.") from error
