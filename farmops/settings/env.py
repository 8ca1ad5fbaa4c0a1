"""Typed readers of the environment: a wrong value stops the start with a sentence that names the variable."""

import os
import re
from pathlib import Path
from urllib.parse import urlsplit

from django.core.exceptions import ImproperlyConfigured

PLAIN_ADDRESS = re.compile(r"[A-Za-z0-9._-]{1,40}@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)*", re.ASCII)


def text(name: str, default: str | None = None) -> str:
    """Return the variable, or the text of the file that NAME_FILE points to; required when there is no default."""
    file = os.environ.get(f"{name}_FILE")
    if file:
        try:
            return Path(file).read_text(encoding="utf-8").strip()
        except OSError as error:
            raise ImproperlyConfigured(
                f"{name}_FILE names {file}, which cannot be read: {error.strerror}"
            ) from error
    value = os.environ.get(name, default)
    if value is None:
        raise ImproperlyConfigured(f"Set {name} (or {name}_FILE) in the environment.")
    return value


def integer(name: str, default: int) -> int:
    """Return the variable as a whole number."""
    value = os.environ.get(name, str(default))
    try:
        return int(value)
    except ValueError as error:
        raise ImproperlyConfigured(f"{name} must be a whole number, not {value!r}.") from error


def flag(name: str, default: bool) -> bool:
    """Return the variable as a yes or no, spelt exactly so."""
    value = os.environ.get(name, "yes" if default else "no")
    if value not in {"yes", "no"}:
        raise ImproperlyConfigured(f"{name} must be yes or no, not {value!r}.")
    return value == "yes"


def words(name: str, default: str) -> list[str]:
    """Return the variable as a list of words separated by commas."""
    return [word.strip() for word in text(name, default).split(",") if word.strip()]


def site_address(name: str) -> str:
    """Return the variable as the address under which people reach the pages, without its last slash; empty if not set."""
    address = text(name, "").rstrip("/")
    if not address:
        return ""
    try:
        parts = urlsplit(address)
        fits = parts.scheme in ("http", "https") and bool(parts.hostname) and parts.port != 0
    except ValueError:
        fits = False
    if not fits or parts.path or parts.query or parts.fragment or parts.username or not address.isprintable():
        raise ImproperlyConfigured(
            f"{name} must be an address such as https://farm.example.org, with nothing behind it, not {address!r}."
        )
    return address


def mail_address(name: str) -> str:
    """Return the variable as a plain mail address, local@domain; empty if not set."""
    address = text(name, "")
    if address and PLAIN_ADDRESS.fullmatch(address) is None:
        raise ImproperlyConfigured(
            f"{name} must be a mail address such as back@farm.example.org, not {address!r}."
        )
    return address
