"""Lines of the log without what must not be read in a log."""

import logging
import re

SECRET_IN_ADDRESS = re.compile(r"(/(?:in|stop|calendar|c)/)[^/\s?#'\"<>]+")
"""The part of an address that signs somebody in, reads a calendar or stops a mail, whoever holds it."""


class WithoutSecrets(logging.Formatter):
    """Writes a line, and whatever is told with it, with the secrets of addresses left out."""

    def format(self, record: logging.LogRecord) -> str:
        return SECRET_IN_ADDRESS.sub(r"\1…", super().format(record))
