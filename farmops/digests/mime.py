"""Write the parts of a message to bytes (RFC 5322, RFC 2045, RFC 2046). Pure.

The standard library's message takes each head apart and each body byte by byte; a morning sheet would spend most of its
time there. Heads that are plain and short stand as they are, others are folded and encoded by the standard library.
"""

import base64
import binascii
import re
from email.headerregistry import Address
from email.policy import EmailPolicy

LINE = "\r\n"
LONGEST_LINE = 78
"""RFC 5322 section 2.1.1 wishes for no more."""

PLAIN_ADDRESS = re.compile(
    r"[A-Za-z0-9_+-]+(\.[A-Za-z0-9_+-]+)*@[A-Za-z0-9-]{1,63}(\.[A-Za-z0-9-]{1,63})*", re.ASCII
)
"""An address that is made of atoms and a plain domain (RFC 5322 section 3.4.1): there is nothing to encode in it."""

# Quoted-printable keeps every line under 76 columns of ASCII, whatever the language (RFC 2045 section 6.7).
POLICY = EmailPolicy(linesep=LINE, max_line_length=LONGEST_LINE)


def head(name: str, value: str | Address) -> str:
    """Return one head line, folded where it is long and encoded where it is not ASCII.

    Raises ValueError for a value that holds a line end.
    """
    plain = str(value)
    if plain.isascii() and plain.isprintable() and len(name) + 2 + len(plain) <= LONGEST_LINE:
        return f"{name}: {plain}{LINE}"
    stored_name, stored = POLICY.header_store_parse(name, value)  # type: ignore[arg-type]  # addresses are taken too
    return POLICY.fold_binary(stored_name, stored).decode("ascii")


def text_part(text: str, *, subtype: str) -> str:
    """Return a text as a part, in quoted-printable."""
    lines = text.encode().splitlines()
    body = binascii.b2a_qp(b"\r\n".join([*lines, b""]), istext=True).decode("ascii")
    return (
        f'Content-Type: text/{subtype}; charset="utf-8"{LINE}'
        f"Content-Transfer-Encoding: quoted-printable{LINE}{LINE}{body}"
    )


def calendar_part(content: bytes, *, filename: str) -> str:
    """Return a calendar file as a part to keep; `filename` is ASCII and plain."""
    body = base64.encodebytes(content).decode("ascii").replace("\n", LINE)
    return (
        f'Content-Type: text/calendar; method="PUBLISH"; charset="utf-8"{LINE}'
        f"Content-Transfer-Encoding: base64{LINE}"
        f'Content-Disposition: attachment; filename="{filename}"{LINE}{LINE}{body}'
    )


def multipart(subtype: str, boundary: str, *parts: str) -> tuple[str, str]:
    """Return the head that says how parts belong together, and the body that holds them."""
    kind = f'Content-Type: multipart/{subtype};{LINE} boundary="{boundary}"{LINE}'
    held = "".join(f"--{boundary}{LINE}{part}{LINE}" for part in parts)
    return kind, f"{held}--{boundary}--{LINE}"
