"""How large the proofs are: small by default, in full with FARMOPS_FAULTS_FULL=yes (about an hour on two cores)."""

import os
from dataclasses import dataclass

IS_FULL = os.environ.get("FARMOPS_FAULTS_FULL") == "yes"


@dataclass(frozen=True)
class Sizes:
    """Counts of what is played, and how long a fault lasts."""

    seeds: int
    rows_redelivered: int
    month_days: int
    month_hands_per_zone: int
    broken_s: float
    stall_s: float
    silence_s: float
    restart_rows: int
    machine_runs: int


SMALL = Sizes(
    seeds=4,
    rows_redelivered=500,
    month_days=8,
    month_hands_per_zone=10,
    broken_s=4,
    stall_s=4,
    silence_s=0,
    restart_rows=150,
    machine_runs=25,
)
FULL = Sizes(
    seeds=50,
    rows_redelivered=10_000,
    month_days=30,
    month_hands_per_zone=500,
    broken_s=60,
    stall_s=540,
    silence_s=180,
    restart_rows=2_000,
    machine_runs=400,
)
SIZES = FULL if IS_FULL else SMALL
