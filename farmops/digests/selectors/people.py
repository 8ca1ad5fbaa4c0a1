"""Reading who of a farm gets mail that is not for hands."""

from farmops.core.models import User
from farmops.farms.models import Farm, Membership, Role


def users_with_role(*, farm: Farm, role: Role) -> list[User]:
    """Return the users who have a role on a farm and may sign in, in the order of their names."""
    members = Membership.objects.filter(farm=farm, role=role, user__is_active=True).select_related("user")
    return [one.user for one in members.order_by("user__username")]
