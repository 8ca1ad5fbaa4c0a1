"""Pictures for tests, good and bad, made on the spot."""

import io
import struct
import zlib
from typing import Any

from PIL import Image

PLACE_SAID = b"31.6018 N 83.5179 W"


def picture(
    form: str = "JPEG", *, mode: str = "RGB", size: tuple[int, int] = (60, 40), **options: Any
) -> bytes:
    """Return a picture whose left half is red and whose right half is white."""
    image = Image.new("RGB", size, "white")
    image.paste((255, 0, 0), (0, 0, size[0] // 2, size[1]))
    written = io.BytesIO()
    image.convert(mode).save(written, form, **options)
    return written.getvalue()


def with_place() -> bytes:
    """Return a JPEG that says in its EXIF block and its comment where it was taken, held upright by orientation 6."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010F] = "Maker of telephones"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (31.0, 36.0, 6.0)
    return picture(exif=exif.tobytes(), comment=PLACE_SAID)


def animated(form: str = "WEBP") -> bytes:
    """Return an animation whose first picture is red on the left."""
    frames = [Image.open(io.BytesIO(picture("PNG"))), Image.new("RGB", (60, 40), "blue")]
    written = io.BytesIO()
    frames[0].save(written, form, save_all=True, append_images=frames[1:], lossless=True)
    return written.getvalue()


def bomb(side_px: int = 20000) -> bytes:
    """Return a PNG of a few bytes that claims side by side pixels of one bit (PNG specification, 11.2.2 IHDR)."""
    header = struct.pack(">IIBBBBB", side_px, side_px, 1, 0, 0, 0, 0)
    row = bytes(1 + side_px // 8)
    packed = zlib.compress(row * 64, 9)
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", header) + _chunk(b"IDAT", packed) + _chunk(b"IEND", b"")


def page_in_a_picture() -> bytes:
    """Return a JPEG that a careless reader takes for a page with a script."""
    return (
        picture(comment=b"<html><script>alert(1)</script></html>") + b"<html><script>alert(2)</script></html>"
    )


def named_like_a_picture() -> bytes:
    """Return the beginning of a HEIC file, which telephones write (ISO/IEC 14496-12, 4.3 file type box)."""
    return struct.pack(">I4s4sI4s4s", 24, b"ftyp", b"heic", 0, b"mif1", b"heic") + bytes(500)


def _chunk(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))
