"""What the boxes offer in which a farm is set up: clocks, textures, crops."""

import zoneinfo
from functools import cache

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.pages.ground import texture_said
from farmops.science.textures import TEXTURES

CLOCKS = (
    ("America/New_York", gettext_noop("Eastern")),
    ("America/Chicago", gettext_noop("Central")),
    ("America/Denver", gettext_noop("Mountain")),
    ("America/Phoenix", gettext_noop("Arizona, without daylight saving")),
    ("America/Los_Angeles", gettext_noop("Pacific")),
    ("America/Anchorage", gettext_noop("Alaska")),
    ("Pacific/Honolulu", gettext_noop("Hawaii")),
)


def clock_choices() -> tuple[list[tuple[str, str]], list[str]]:
    """Return the clocks of this country with their words, and the names of all others."""
    near = [(name, _(said)) for name, said in CLOCKS]
    return near, _others()


@cache
def _others() -> list[str]:
    known = {name for name, _said in CLOCKS}
    regions = ("America/", "Europe/", "Africa/", "Asia/", "Australia/", "Pacific/", "Atlantic/", "Indian/")
    return sorted(
        name for name in zoneinfo.available_timezones() if name.startswith(regions) and name not in known
    )


def texture_choices() -> list[tuple[str, str]]:
    """Return the textures of topsoil, from sand to clay."""
    return [(key, texture_said(key)) for key in TEXTURES]
