"""Drawing a photo anew, in a process of its own with limits of memory and time: what came in is never kept.

Run as a program it reads a photo from standard input and writes a JPEG to standard output, a plain picture on a fresh
canvas, turned as its sender held it, without place, comments or anything else that a file can carry beside it. It
knows the decoder and nothing of the service.
"""

import io
import resource
import sys
import warnings

from PIL import Image, ImageOps, UnidentifiedImageError

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 20_000_000
LONGEST_SIDE_PX = 2000  # farm judgement: a stalk in a tire can be made out, and a phone on a farm can load it
QUALITY = 82
MOST_MEMORY = 900 * 1024 * 1024
MOST_CPU_S = 15
DRAWN, NOT_A_PHOTO, TOO_MANY_PIXELS, BROKEN = 0, 3, 4, 5


class CannotBeDrawn(ValueError):
    """A file from which no photo is drawn; `exit_code` says why."""

    def __init__(self, exit_code: int) -> None:
        super().__init__(str(exit_code))
        self.exit_code = exit_code


def draw(content: bytes) -> bytes:
    """Return a JPEG of the first picture in a file, no side longer than 2000 px; raises CannotBeDrawn.

    The decoder checks nothing but JPEG, PNG and WebP, and the size that a file claims before any of it is decoded.
    """
    warnings.simplefilter("error", Image.DecompressionBombWarning)
    try:
        photo = Image.open(io.BytesIO(content), formats=FORMATS)
    except (UnidentifiedImageError, Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        is_unknown = isinstance(error, UnidentifiedImageError)
        raise CannotBeDrawn(NOT_A_PHOTO if is_unknown else TOO_MANY_PIXELS) from error
    except (OSError, ValueError, SyntaxError) as error:
        raise CannotBeDrawn(BROKEN) from error
    if photo.width * photo.height > MOST_PIXELS:
        raise CannotBeDrawn(TOO_MANY_PIXELS)
    try:
        photo.load()
        turned = ImageOps.exif_transpose(photo)
        turned.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
        canvas = Image.new("RGB", turned.size, "white")
        if turned.mode in ("RGBA", "LA", "PA") or "transparency" in turned.info:
            seen = turned.convert("RGBA")
            canvas.paste(seen, mask=seen.getchannel("A"))
        else:
            canvas.paste(turned.convert("RGB"))
        drawn = io.BytesIO()
        canvas.save(drawn, "JPEG", quality=QUALITY, optimize=True)
    except (OSError, ValueError, SyntaxError, EOFError, IndexError, KeyError, TypeError) as error:
        raise CannotBeDrawn(BROKEN) from error
    return drawn.getvalue()


def main() -> int:
    """Draw the photo on standard input within the limits; return the exit code."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_S, MOST_CPU_S))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    try:
        sys.stdout.buffer.write(draw(sys.stdin.buffer.read()))
    except CannotBeDrawn as error:
        return error.exit_code
    except MemoryError:
        return TOO_MANY_PIXELS
    return DRAWN


if __name__ == "__main__":
    sys.exit(main())
