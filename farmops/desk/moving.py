"""Moving a pass by hand, by the weather and from the hour on that the pages go by."""

import datetime as dt

from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.desk.days import first_instant, weather_as_of
from farmops.farms.models import Farm
from scheduling.models import FieldPass, WeekPlan
from scheduling.selectors.versions import week_version
from scheduling.services import moving
from scheduling.services.moving import Priced, WeekChanged

ANY = "*"


class WeekNotSeen(DomainError):
    """A change of the week comes without the version of it that it goes by."""

    code = "week_not_seen"
    kind = Kind.UNSEEN


def price_move(
    *, plan: WeekPlan, field_pass: FieldPass, outfit: str, starts_at: dt.datetime, now: dt.datetime
) -> Priced:
    """Return what comes of a move within a plan; stores nothing. Where the weather's record is old, nothing begins before
    the day after it ends.
    """
    farm = plan.farm
    return moving.price_move(
        plan=plan,
        field_pass=field_pass,
        outfit=outfit,
        starts_at=starts_at,
        not_before=first_instant(farm=farm, now=now),
        as_of=weather_as_of(farm=farm, today=local_date(now, farm.zone)),
    )


def keep_move(*, priced: Priced, seen: str, made_by: User | None, now: dt.datetime) -> WeekPlan:
    """Hold the pass where a move puts it and store the plan that comes of it. Raises WeekChanged where the week is no
    longer as it was `seen`, WeekNotSeen where that is not told.
    """
    farm = priced.base.farm
    return moving.keep_move(
        priced=priced,
        seen=_told(seen),
        made_by=made_by,
        now=now,
        not_before=first_instant(farm=farm, now=now),
        as_of=weather_as_of(farm=farm, today=local_date(now, farm.zone)),
    )


def undo_move(*, plan: WeekPlan, seen: str, made_by: User | None, now: dt.datetime) -> WeekPlan:
    """Go back to the plan before a move. Raises what `keep_move` raises of the version, CannotMove where it is none."""
    return moving.undo_move(plan=plan, seen=_told(seen), made_by=made_by, now=now)


def told_version(*, farm: Farm, seen: str) -> str:
    """Return the version that a change goes by, told and still so: cheaper to refuse before a price is worked out."""
    if _told(seen) != week_version(farm=farm):
        raise WeekChanged(_("The week was changed meanwhile: look at both versions, then choose."))
    return seen


def entity_tag(version: str) -> str:
    """Return a version as the strong entity tag of an answer (RFC 9110, 8.8.3)."""
    return f'"{version}"'


def version_of(header: str) -> str:
    """Return the version in an If-Match header; empty where there is none, or it names several or any."""
    text = header.strip()
    is_one = len(text) > 2 and text[0] == text[-1] == '"' and text.count('"') == 2
    return text[1:-1] if is_one else ""


def _told(seen: str) -> str:
    if not seen or seen == ANY:
        raise WeekNotSeen(
            _("Say by which version of the week it is to be done, as the page or the answer has it.")
        )
    return seen
