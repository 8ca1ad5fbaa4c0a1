"""What the log says of a request that is refused, and of one that broke."""

import logging
from typing import Any

import pytest
from django.utils.module_loading import import_string

from farmops.settings.base import LOGGING


def told(status_code: int | None) -> str:
    """Return what the log of the service writes of an error that was answered with a status."""
    logs: Any = LOGGING
    handler = logs["handlers"]["stderr"]
    try:
        raise PermissionError("not yours")
    except PermissionError as error:
        given = (type(error), error, error.__traceback__)
        record = logging.LogRecord("django.request", logging.WARNING, "", 0, "Refused: /x/", (), given)
    if status_code is not None:
        record.status_code = status_code
    for name in handler["filters"]:
        assert import_string(logs["filters"][name]["()"])().filter(record)
    return import_string(logs["formatters"][handler["formatter"]]["()"])("%(message)s").format(record)


@pytest.mark.parametrize("status_code", [400, 403, 404, 405])
def test_a_refusal_is_one_line(status_code: int) -> None:
    assert told(status_code) == "Refused: /x/"


@pytest.mark.parametrize("status_code", [500, 503, None])
def test_what_broke_comes_with_its_way_through_the_code(status_code: int | None) -> None:
    assert "Traceback" in told(status_code)
