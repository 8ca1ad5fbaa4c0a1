"""Reading who of a farm gets mail that is not for hands."""

from collections.abc import Collection

from farmops.core.models import User
from farmops.digests.models import SheetKind
from farmops.farms.models import Farm, Membership, Role

ROLE_OF = {
    SheetKind.DIGEST: Role.MANAGER,
    SheetKind.COSTS: Role.BOOKKEEPER,
    SheetKind.TROUBLE: Role.MANAGER,
}
"""Who gets a kind of mail that is not for hands."""
Member = tuple[int, int, str]
"""A farm, a user, and the user's role there."""


def users_with_role(*, farm: Farm, role: Role) -> list[User]:
    """Return the users who have a role on a farm and may sign in, in the order of their names."""
    members = Membership.objects.filter(farm=farm, role=role, user__is_active=True).select_related("user")
    return [one.user for one in members.order_by("user__username")]


def members_of_farms(*, farms: Collection[int]) -> set[Member]:
    """Return who has which role on some farms and may sign in: one query for all of them."""
    rows = Membership.objects.filter(farm__in=farms, role__in=set(ROLE_OF.values()), user__is_active=True)
    return set(rows.order_by().values_list("farm_id", "user_id", "role"))
