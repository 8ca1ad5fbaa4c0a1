"""From bytes to text and rows, with limits."""

import csv
import io
from collections.abc import Iterator

from farmops.weather.sources.rows import UnreadableFile

MAX_BYTES = 20_000_000


def refuse_size(size: int) -> None:
    """Refuse a file of more bytes than are read at once; ask before reading."""
    if size > MAX_BYTES:
        raise UnreadableFile(f"has {size / 1e6:.0f} MB; at most {MAX_BYTES // 1_000_000} MB are read at once")


def decoded(data: bytes) -> str:
    """Return the text of a file; UTF-8 with or without a byte order mark, at most 20 MB."""
    refuse_size(len(data))
    if data.startswith((b"\x1f\x8b", b"PK\x03\x04")):
        raise UnreadableFile("is packed; unpack it first")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise UnreadableFile(f"is not UTF-8 text (line {line})") from error
    if not text.strip():
        raise UnreadableFile("is empty")
    if "\0" in text:
        raise UnreadableFile("holds zero bytes; it is not a text file")
    return text


def csv_rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Yield (line, cells) of a comma-separated text; blank lines are passed over."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise UnreadableFile(f"is not a comma-separated file: {error} (line {line})") from error
        if any(cell.strip() for cell in cells):
            yield line, cells
