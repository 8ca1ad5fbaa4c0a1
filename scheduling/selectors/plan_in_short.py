"""Plans without their documents, which are large: for who needs a plan's days and its tasks."""

from django.db.models import QuerySet

from farmops.farms.models import Farm
from scheduling.models import PlanState, WeekPlan


def plans_in_short(*, farm: Farm) -> QuerySet[WeekPlan]:
    """Return the plans of a farm, without their documents."""
    return WeekPlan.objects.filter(farm=farm).defer("problem", "plan", "windows", "not_offered")


def sent_plan_in_short(*, farm: Farm) -> WeekPlan | None:
    """Return the plan that is sent, as `sent_plan` does."""
    return plans_in_short(farm=farm).filter(state=PlanState.SENT).first()


def current_plan_in_short(*, farm: Farm) -> WeekPlan | None:
    """Return the plan that counts, as `current_plan` does: the sent one, else the newest made one."""
    made = plans_in_short(farm=farm).filter(state=PlanState.MADE).order_by("-number")
    return sent_plan_in_short(farm=farm) or made.first()
