"""Measuring in a child process that keeps to so many cores."""

import importlib
import json
import os
import resource
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import farmops

THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMEXPR_NUM_THREADS")
ONE_THREAD = dict.fromkeys(THREADS, "1")
ROOT = Path(farmops.__path__[0]).parent
MB = 1e6


class MeasurementFailed(RuntimeError):
    """A child process ended without a result; the message holds the end of what it wrote."""


def measured(
    function: str,
    /,
    *,
    cores: int = 1,
    most_seconds: float | None = None,
    environ: Mapping[str, str] | None = None,
    **arguments: Any,
) -> dict[str, Any]:
    """Return what `module.function` returns in a child of its own, and `peak_mb`, the most memory that it held.

    The child keeps to `cores` cores, sees `environ` beside the environment and is ended after `most_seconds`.
    MeasurementFailed when it gives no result.
    """
    try:
        ran = subprocess.run(
            [sys.executable, "-m", "farmops.bench.children", function, str(cores), json.dumps(arguments)],
            cwd=ROOT,
            env={**os.environ, **ONE_THREAD, **(environ or {})},
            capture_output=True,
            text=True,
            check=False,
            timeout=most_seconds,
        )
    except subprocess.TimeoutExpired as error:
        raise MeasurementFailed(f"{function} did not end within {most_seconds:g} seconds") from error
    if ran.returncode != 0:
        raise MeasurementFailed(f"{function} ended with {ran.returncode}: {ran.stderr.strip()[-800:]}")
    numbers: dict[str, Any] = json.loads(ran.stdout.splitlines()[-1])
    return numbers


def _child(function: str, cores: int, arguments: dict[str, Any]) -> dict[str, Any]:
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, set(sorted(os.sched_getaffinity(0))[:cores]))
    module, _, name = function.rpartition(".")
    numbers: dict[str, Any] = getattr(importlib.import_module(module), name)(**arguments)
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return {**numbers, "peak_mb": held / MB if sys.platform == "darwin" else held * 1024 / MB}


if __name__ == "__main__":
    sys.stdout.write(json.dumps(_child(sys.argv[1], int(sys.argv[2]), json.loads(sys.argv[3]))) + "\n")
