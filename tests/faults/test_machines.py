"""Many runs of the two state machines of the outbox, on cases of their own."""

import pytest
from hypothesis import HealthCheck
from hypothesis import settings as effort
from hypothesis.stateful import RuleBasedStateMachine, run_state_machine_as_test

from tests.farmops.digests.outbox_machines import ClaimMachine, SendingMachine
from tests.faults.sizes import SIZES

MANY = effort(
    max_examples=SIZES.machine_runs,
    stateful_step_count=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)


@pytest.mark.faults
@pytest.mark.django_db
@pytest.mark.parametrize("machine", [SendingMachine, ClaimMachine])
def test_any_order_of_steps_keeps_the_promises(machine: type[RuleBasedStateMachine]) -> None:
    run_state_machine_as_test(machine, settings=MANY)
