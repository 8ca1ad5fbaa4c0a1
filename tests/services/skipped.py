"""Fail when a run of the suite skipped anything: `python -m tests.services.skipped REPORT.xml`."""

import sys
from pathlib import Path
from xml.etree import ElementTree


def main(report: Path) -> int:
    skipped = [
        f"{case.get('classname')}::{case.get('name')}"
        for case in ElementTree.parse(report).iter("testcase")
        if case.find("skipped") is not None
    ]
    for name in skipped:
        print(f"skipped: {name}", file=sys.stderr)
    return 1 if skipped else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
