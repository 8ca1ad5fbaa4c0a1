"""Who signs in to the farm, and who has still to choose a password.

What it is for: to take on another manager or a bookkeeper. Its user decides there who sees the farm's plans and money.
"""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.models import Farm, Membership, Role
from farmops.farms.services.starting import waits_for_password
from farmops.pages import words


def people_facts(*, farm: Farm) -> dict[str, Any]:
    """Return each user with a part in the farm beside that of a hand, and who waits for a password."""
    parts = (
        Membership.objects.filter(farm=farm)
        .exclude(role=Role.HAND)
        .select_related("user")
        .order_by("user__username", "role")
    )
    waiting = {user.pk for user in waits_for_password(farm=farm)}
    people: dict[int, dict[str, Any]] = {}
    for part in parts:
        user = part.user
        row = people.setdefault(
            user.pk,
            {
                "id": user.pk,
                "name": user.get_full_name() or user.username,
                "username": user.username,
                "email": user.email,
                "roles": [],
                "is_waiting": user.pk in waiting,
            },
        )
        row["roles"].append(words.named(part.get_role_display()))
    rows = [{**row, "roles": words.listed(row["roles"])} for row in people.values()]
    return {
        "headline": ngettext(
            "{count} person signs in here.", "{count} people sign in here.", len(rows)
        ).format(count=len(rows)),
        "people": rows,
        "roles": [
            (Role.MANAGER.value, _("manager: plans, sends, sees the money")),
            (Role.BOOKKEEPER.value, _("bookkeeper: costs, bills, months")),
        ],
    }
