"""The same grouping in DuckDB, over the same rows copied out of the books."""

import tempfile
from pathlib import Path

import duckdb

from farmops.bench.ledger_measures import agree, copy_out, plain_sums, timed
from farmops.bench.ledger_place import CODE
from farmops.farms.models import Farm

OF_SEASONS = """
    SELECT f.code, s.crop_year, l.category, l.cents
    FROM ledger_line l JOIN farms_season s ON s.id = l.season_id JOIN farms_field f ON f.id = s.field_id
    WHERE s.farm_id = %s AND l.account = 'season'
"""
LOADED = "CREATE TABLE line AS SELECT * FROM read_csv(?, header = true)"
GROUPED = "SELECT code, category, SUM(cents) FROM line WHERE crop_year = ? GROUP BY code, category"


def grouped(*, crop_year: int, rounds: int) -> dict[str, float]:
    """Return the seconds that taking the lines in and grouping those of a year takes on one core, the best of rounds.

    Raise SumsDiffer where the sums are not those of plain SQL in the books' own database.
    """
    farm = Farm.objects.get(code=CODE)
    with tempfile.TemporaryDirectory(prefix="bench") as folder, duckdb.connect() as beside:
        path = Path(folder) / "lines.csv"
        rows = copy_out(OF_SEASONS, [farm.pk], path)
        beside.execute("SET threads TO 1")
        load_seconds, _ = timed(lambda: beside.execute(LOADED, [str(path)]))
        found = []
        for _round in range(rounds):
            seconds, sums = timed(lambda: beside.execute(GROUPED, [crop_year]).fetchall())
            found.append(seconds)
    agree(
        {(code, category): int(cents) for code, category, cents in sums},
        plain_sums(farm, crop_year),
        "DuckDB and plain SQL",
    )
    return {"seconds": min(found), "load_seconds": load_seconds, "rows": rows}
