"""Keeping many fields at once as long work; see `farmops.core.long_work`."""

import datetime as dt

from django.utils.translation import gettext_noop

from farmops.core.long_work import Progress, Result, begin
from farmops.core.models import LongWork, User
from farmops.farms.models import Farm
from farmops.farms.services.outline_fields import keep_outlines

BOUNDARIES = "boundaries"
MEASURING = gettext_noop("measuring the fields")


def begin_boundaries(
    *, farm: Farm, names: dict[int, str], texture: str, named_by: str, asked_by: User | None, now: dt.datetime
) -> LongWork:
    """Have the outlines that wait kept as fields, all of them or none."""
    asked = {
        "names": {str(number): name for number, name in names.items()},
        "texture": texture,
        "named_by": named_by,
    }
    return begin(farm=farm, kind=BOUNDARIES, asked_by=asked_by, asked=asked, key=BOUNDARIES, now=now)


def keep_boundaries(work: LongWork, progress: Progress) -> Result:
    """Keep the outlines as fields."""
    asked = work.asked
    count = keep_outlines(
        farm=Farm.objects.get(pk=work.farm_id),
        names={int(number): name for number, name in asked["names"].items()},
        texture=asked["texture"],
        named_by=asked["named_by"],
        progress=lambda done, of: progress(done, of, MEASURING),
    )
    return Result(facts={"fields": count})
