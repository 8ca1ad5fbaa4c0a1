"""Compile the planner's kernel into its cache: `python -m scheduling.solver.warm`."""

import sys

from scheduling.solver import compiled


def main() -> int:
    if not compiled.is_available():
        print("There is no compiler; the planner runs as plain Python.")
        return 0
    print(f"The planner's kernel is compiled: {compiled.compile_here()}.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
