"""Lines of the log without what must not be read in a log."""

import logging
import re
from http import HTTPStatus

SECRET_IN_ADDRESS = re.compile(r"(/(?:in|stop|calendar|c)/)[^/\s?#'\"<>]+")
"""The part of an address that signs somebody in, reads a calendar or stops a mail, whoever holds it."""


class RefusalsAreOneLine(logging.Filter):
    """Leaves the way through the code out of what a request was refused with: a refusal is nothing broken."""

    def filter(self, record: logging.LogRecord) -> bool:
        if HTTPStatus.BAD_REQUEST <= getattr(record, "status_code", 0) < HTTPStatus.INTERNAL_SERVER_ERROR:
            record.exc_info = record.exc_text = None
        return True


class WithoutSecrets(logging.Formatter):
    """Writes a line, and whatever is told with it, with the secrets of addresses left out."""

    def format(self, record: logging.LogRecord) -> str:
        return SECRET_IN_ADDRESS.sub(r"\1…", super().format(record))
