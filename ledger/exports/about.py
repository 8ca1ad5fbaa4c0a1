"""What an export is of: farm, period, rows, sum, and the head of the chain it was written under.

There is no clock in it: the books of the same head give the same bytes. Its hour is that of the newest entry.
"""

import datetime as dt
import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

from farmops.farms.models import Farm
from ledger.costing.money import usd_text
from ledger.exports.whole import whole_file
from ledger.models import Entry


@dataclass(frozen=True)
class Head:
    """The newest entry of a farm when a file was begun: number, digest, hour; 0 and empty where nothing is booked."""

    number: int
    digest: str
    posted_at: str


@dataclass(frozen=True)
class About:
    """What stands in the footer of a file, or in the manifest beside it."""

    form: str
    farm: str
    farm_name: str
    zone: str
    period: str
    row_count: int
    sum_usd: str
    head: Head

    def facts(self) -> list[tuple[str, str]]:
        """Return all of it by name, in the order it is shown."""
        return [
            ("version", self.form),
            ("farm", self.farm),
            ("name", self.farm_name),
            ("zone", self.zone),
            ("period", self.period),
            ("rows", str(self.row_count)),
            ("sum_usd", self.sum_usd),
            ("entries in the books", str(self.head.number)),
            ("digest of the last entry", self.head.digest),
            ("posted_at of the last entry", self.head.posted_at),
        ]


def head_of(*, farm: Farm) -> Head:
    """Return the head of a farm's chain with its hour in UTC."""
    entry = Entry.objects.filter(farm=farm).order_by("-number").first()
    if entry is None:
        return Head(0, "", "")
    return Head(entry.number, entry.hash, entry.posted_at.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ"))


def about(*, farm: Farm, form: str, period: str, row_count: int, cents: int, head: Head) -> About:
    """Return what a file of a farm is of."""
    return About(form, farm.code, farm.name, farm.zone, period, row_count, usd_text(cents), head)


def manifest_path(path: Path) -> Path:
    """Return where the manifest of a file stands: beside it."""
    return path.with_name(f"{path.name}.manifest.json")


def write_manifest(*, path: Path, facts: About) -> Path:
    """Write what a finished file is of, with the SHA-256 of its bytes, as JSON beside it."""
    beside = manifest_path(path)
    told = {name.replace(" ", "_"): value for name, value in facts.facts()}
    told |= {"file": path.name, "bytes": str(path.stat().st_size), "sha256": sha256_of(path)}
    with whole_file(beside) as unfinished:
        unfinished.write_text(json.dumps(told, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    return beside


def sha256_of(path: Path) -> str:
    """Return the digest of a file's bytes (FIPS 180-4), read in pieces."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(1 << 20):
            digest.update(piece)
    return digest.hexdigest()
