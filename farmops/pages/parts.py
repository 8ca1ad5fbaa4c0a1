"""A long list by parts: which part of it a page shows, and the addresses of the parts beside it.

What a page says of the whole list (headline, totals, counts) is of all of it, whichever part is shown.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar
from urllib.parse import urlencode

ON_A_PAGE = 100
Sliced = TypeVar("Sliced", bound=Any)


@dataclass(frozen=True)
class Part:
    """One part of a list; `before` and `after` are the queries of the parts beside it, empty where there is none."""

    page: int
    pages: int
    before: str
    after: str
    most: int

    def of(self, rows: Sliced) -> Sliced:
        """Return the rows of this part, of a list or of a query."""
        found: Sliced = rows[(self.page - 1) * self.most : self.page * self.most]
        return found


def part_of(
    count: int,
    *,
    page: int,
    query: Mapping[str, object],
    most: int = ON_A_PAGE,
    at: str = "",
    named: str = "page",
) -> Part:
    """Return a part of a list of so many rows: the last one where fewer parts are there than the page asked for.

    `query` is what else the address asks for, `at` the id of the list on its page,
    `named` the word by which the address names the part: each of two lists on one page has its own.
    """
    pages = max(1, -(-count // most))
    page = min(page, pages)

    def address(number: int) -> str:
        if not 1 <= number <= pages:
            return ""
        return urlencode({**query, named: number}) + (f"#{at}" if at else "")

    return Part(page, pages, address(page - 1), address(page + 1), most)
