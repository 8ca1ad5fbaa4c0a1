"""Run a command with the suite's settings on a real PostgreSQL: `python -m tests.services COMMAND …`."""

import os
import subprocess
import sys

from tests.services import postgres


def main(command: list[str]) -> int:
    with postgres.running() as address:
        print(f"PostgreSQL of {address.origin}", file=sys.stderr)
        env = {
            **os.environ,
            "FARMOPS_TEST_ENGINE": "postgresql",
            **address.env("FARMOPS_TEST_DB", "postgres"),
            "FARMOPS_TEST_POSTGRES_HOST": address.host,
            "FARMOPS_TEST_POSTGRES_PORT": address.port,
            "FARMOPS_TEST_POSTGRES_USER": address.user,
            "FARMOPS_TEST_POSTGRES_PASSWORD": address.password,
        }
        return subprocess.run(command, env=env, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
