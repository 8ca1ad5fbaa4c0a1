"""Keeping everybody out of a field after a spraying that is only planned: its label's hours, as the pass states them.

What was sprayed already is recorded, and shuts the field by itself (`scheduling.windows.stops`).
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from scheduling.models import FieldPass, PassState
from scheduling.selectors.gaps import reentry_min
from scheduling.selectors.waiting import Offer

Before = tuple[int, int]
"""A pass to wait for, by its row id, and the least minutes after it."""


def kept_apart(offer: Offer) -> Mapping[int, Sequence[Before]]:
    """Return what else passes must wait for, so that none is worked while another sprays their field or its label holds.

    Links already part most passes of a field. Of two that nothing links, the one under way or held to an hour goes
    first; then the one that must be done; then the one that is due first; then the spraying.
    """
    after: dict[int, set[int]] = defaultdict(set)
    for field_pass in offer.passes:
        for link in offer.links_of[field_pass.pk]:
            after[link.before_id].add(field_pass.pk)
    of_field: dict[int, list[FieldPass]] = defaultdict(list)
    for field_pass in offer.passes:
        of_field[field_pass.season.field_id].append(field_pass)
    waits: dict[int, list[Before]] = defaultdict(list)
    for passes in of_field.values():
        for spraying in passes:
            if not reentry_min(spraying):
                continue
            for other in passes:
                if other.pk == spraying.pk or _leads_to(after, spraying.pk, other.pk):
                    continue
                if _leads_to(after, other.pk, spraying.pk):
                    continue
                first, then = sorted((spraying, other), key=_turn)
                after[first.pk].add(then.pk)
                waits[then.pk].append((first.pk, reentry_min(first)))
    return waits


def _turn(field_pass: FieldPass) -> tuple[bool, bool, bool, str, bool, int]:
    due_on = field_pass.due_on
    return (
        field_pass.state != PassState.UNDER_WAY,
        field_pass.fixed_from is None,
        field_pass.leave_cents is not None,
        "9999" if due_on is None else due_on.isoformat(),
        not reentry_min(field_pass),
        field_pass.pk,
    )


def _leads_to(after: Mapping[int, set[int]], first: int, last: int) -> bool:
    found, asked = {first}, [first]
    while asked:
        for following in after.get(asked.pop(), ()):
            if following not in found:
                found.add(following)
                asked.append(following)
    return last in found
