"""Read a journal into a farm whose books are empty."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.exports.about import manifest_path
from ledger.exports.journal_file import import_journal


class Command(BaseCommand):
    help = (
        "Read a journal that export_journal wrote into a farm without entries: the same entries, the same digests. Lines "
        "are linked to the farm's seasons, machines, implements and pumps by their codes. Exit codes: 0 kept, 1 refused "
        "and nothing kept."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument(
            "--head",
            metavar="DIGEST",
            default="",
            help="of the last entry; default: of the manifest beside the file",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path = options["file"]
        try:
            farm = farm_by_code(options["farm"])
            done = import_journal(farm=farm, path=path, head=options["head"] or _head_beside(path))
        except DomainError as error:
            raise CommandError(error.says) from error
        for name, count in sorted(done.not_linked.items()):
            self.stdout.write(f"{name or 'no name'}: not on this farm; {count} lines keep the name alone.")
        self.stdout.write(
            f"{path}: {done.entries} entries, {done.lines} lines, head {done.head.digest or 'none'}."
        )


def _head_beside(path: Path) -> str:
    """Return the digest of the last entry by the manifest beside a file; empty where there is none."""
    beside = manifest_path(path)
    if not beside.is_file():
        return ""
    try:
        return str(json.loads(beside.read_text(encoding="utf-8"))["digest_of_the_last_entry"])
    except (ValueError, KeyError, TypeError) as error:
        raise CommandError(
            f"{beside.name} is no manifest of a journal; give --head or take it away."
        ) from error
