"""Lines of the log without what must not be read in a log."""

import logging
import re

SECRET_IN_ADDRESS = re.compile(r"(/in/)[^/\s?#'\"<>]+")
"""The part of an address that signs somebody in; see `farmops.pages.views.entering`."""


class WithoutSecrets(logging.Formatter):
    """Writes a line, and whatever is told with it, with the secrets of addresses left out."""

    def format(self, record: logging.LogRecord) -> str:
        return SECRET_IN_ADDRESS.sub(r"\1…", super().format(record))
