"""Take in one mail that came back, from the mail server's pipe: `take_bounce < message`."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from farmops.core import clock
from farmops.digests.bounce_report import LARGEST_BYTES
from farmops.digests.services.bounces import take_report


class Command(BaseCommand):
    """Say what became of it; whatever the mail holds, that is no error: a mail server would send it back."""

    help = "Take in one report of mail that could not be delivered, from a file or from what is piped in."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", nargs="?", default="-", help="the message; without it, standard input")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["file"] == "-":
                content = sys.stdin.buffer.read(LARGEST_BYTES + 1)
            else:
                with Path(options["file"]).open("rb") as file:
                    content = file.read(LARGEST_BYTES + 1)
        except OSError as error:
            raise CommandError(f"{options['file']} cannot be read: {error.strerror}.") from error
        self.stdout.write(take_report(content=content, now=clock.now()).value)
