"""Files that were cut, doubled and scribbled on: read, or refused with a sentence, and never anything else."""

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from django.conf import settings
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st

from farmops.weather.sources import daily_csv, gaps, ghcn_daily, nws_grid
from farmops.weather.sources.days import assemble, columns_of
from farmops.weather.sources.ranges import suspicions
from farmops.weather.sources.rows import DayFile, UnreadableFile
from farmops.weather.sources.text import decoded

FIXTURES = Path(settings.BASE_DIR) / "fixtures" / "weather"
SCRIBBLES = st.one_of(
    st.binary(max_size=12),
    st.text(max_size=12).map(lambda text: text.encode("utf-8", "surrogatepass")),
    st.sampled_from(
        [
            b"",
            b"\n",
            b'"',
            b",",
            b"-9999",
            b"1e999",
            b"null",
            b"NaN",
            b"{",
            b"]",
            b"99999999999999999999",
            b"9999-12-31",
        ]
    ),
)


def days(read: Callable[[str], DayFile]) -> Callable[[str], None]:
    def run(text: str) -> None:
        file = read(text)
        suspicions(columns_of(file.readings))
        found, _ = assemble(file.readings)
        gaps.fill({day.day: day.values for day in found})

    return run


@pytest.mark.parametrize(
    ("name", "read"),
    [
        ("daily.csv", days(lambda text: daily_csv.read(text=text, station="yard"))),
        ("ghcn_long.csv", days(lambda text: ghcn_daily.read(text=text))),
        ("ghcn_long_morning.csv", days(lambda text: ghcn_daily.read(text=text))),
        ("ghcn_wide.csv", days(lambda text: ghcn_daily.read(text=text))),
        ("nws_grid.json", lambda text: nws_grid.read(text=text)),
    ],
)
@effort(max_examples=150, deadline=None)
@given(data=st.data())
def test_a_broken_file_is_read_or_refused(
    name: str, read: Callable[[str], object], data: st.DataObject
) -> None:
    whole = (FIXTURES / name).read_bytes()
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(whole)))
        end = data.draw(st.integers(start, min(len(whole), start + 40)))
        whole = whole[:start] + data.draw(SCRIBBLES) + whole[end:]
    with suppress(UnreadableFile):
        read(decoded(whole))
