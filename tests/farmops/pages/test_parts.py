"""A long list by parts: each row stands in one of them, and each part leads to those beside it."""

import pytest

from farmops.pages.parts import part_of


@pytest.mark.parametrize(("count", "pages"), [(0, 1), (1, 1), (100, 1), (101, 2), (250, 3)])
def test_every_row_stands_in_one_part_and_the_parts_follow_each_other(count: int, pages: int) -> None:
    rows, seen = list(range(count)), []
    for page in range(1, pages + 1):
        part = part_of(count, page=page, query={"year": 2026}, at="rows")
        assert part.pages == pages
        assert part.before == (f"year=2026&page={page - 1}#rows" if page > 1 else "")
        assert part.after == (f"year=2026&page={page + 1}#rows" if page < pages else "")
        seen += part.of(rows)
    assert seen == rows


def test_a_page_after_the_last_is_the_last() -> None:
    part = part_of(250, page=9, query={})
    assert (part.page, part.after) == (3, "")
    assert part.of(list(range(250))) == list(range(200, 250))
