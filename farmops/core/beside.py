"""Running a module of ours in a process beside this one."""

import subprocess
import sys
from threading import Thread


def run_beside(module: str) -> Thread:
    """Run `python -m MODULE` quietly and wait for nothing; return the thread that waits for its end."""

    def wait() -> None:
        quiet = subprocess.DEVNULL
        subprocess.run([sys.executable, "-m", module], stdin=quiet, stdout=quiet, stderr=quiet, check=False)

    thread = Thread(target=wait, name=module, daemon=True)
    thread.start()
    return thread
