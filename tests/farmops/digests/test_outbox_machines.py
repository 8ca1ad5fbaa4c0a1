"""A few runs of the two state machines; many more are made among the faults."""

import pytest
from hypothesis import settings as effort
from hypothesis.stateful import run_state_machine_as_test

from tests.farmops.digests.outbox_machines import ClaimMachine, SendingMachine

FEW = effort(max_examples=6, stateful_step_count=12)


@pytest.mark.django_db
@pytest.mark.long
def test_any_order_of_sending_and_dying_keeps_the_promises() -> None:
    run_state_machine_as_test(SendingMachine, settings=FEW)


@pytest.mark.django_db
@pytest.mark.long
def test_any_order_of_looks_and_claims_keeps_the_promises() -> None:
    run_state_machine_as_test(ClaimMachine, settings=FEW)
