"""Addresses of many pages of one kind: the address is put together once, and each gets its own id or code."""

from collections.abc import Callable

from django.urls import reverse

Address = Callable[[object], str]


def addresses(page: str, *args: object) -> Address:
    """Return what gives the address of a page by its last argument, a row id or a code of small letters and digits."""
    begins, ends = reverse(page, args=[*args, 0]).rsplit("/0/", 1)
    return lambda one: f"{begins}/{one}/{ends}"
