"""The kernel compiled, when that is ready: loaded from its cache in the background, or compiled by a child process.

Until then, and where the compiler is missing or switched off (NUMBA_DISABLE_JIT=1), the same functions run as plain
Python and find the same plans, only slower. The compiler is imported in the background thread and nowhere else, so that
who does not plan does not pay for it.
"""

import ctypes
import hashlib
import importlib
import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from threading import Event, Lock, Thread
from time import monotonic, sleep
from types import FunctionType
from typing import Any

from scheduling.solver import kernel

Run = Callable[..., None]
WARM_COMMAND = "scheduling.solver.warm"
MOST_COMPILING_S = 600
WAIT_S = 0.5


class _Loading:
    """What this process knows of the compiled kernel."""

    def __init__(self) -> None:
        self.process_id = os.getpid()
        self.run: Run | None = None
        self.is_over = Event()
        self.is_compiling = Event()
        self.has_begun = False


_loading = _Loading()
_lock = Lock()


def is_available() -> bool:
    """Whether there is a compiler, and nobody has switched it off."""
    off = os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0")
    return not off and importlib.util.find_spec("numba") is not None


def run_now() -> Run:
    """Return the compiled `kernel.run` if it is loaded, else the plain one."""
    return kernel.run if _loading.run is None else _loading.run


def is_loaded() -> bool:
    return _loading.run is not None


def begin() -> None:
    """Have the compiled kernel loaded in the background, and compiled before by a child where it never was."""
    global _loading
    with _lock:
        if _loading.run is None and _loading.process_id != os.getpid():
            _loading = _Loading()  # a forked process has none of its parent's threads
        if _loading.has_begun or not is_available():
            return
        _loading.has_begun = True
        Thread(target=_load, args=(_loading,), name="kernel", daemon=True).start()


def is_loaded_within(seconds: float) -> bool:
    """Wait, so long at most, until it is compiled and loaded; return whether it is."""
    if _loading.has_begun:
        _loading.is_over.wait(seconds)
    return is_loaded()


def wait(seconds: float) -> None:
    """Wait, so long at most, while the compiled kernel is loaded; not while it is still compiled."""
    until = monotonic() + seconds
    while _loading.has_begun and not _loading.is_over.is_set() and not _loading.is_compiling.is_set():
        left = until - monotonic()
        if left <= 0:
            break
        _loading.is_over.wait(min(left, 0.01))


def _load(loading: _Loading) -> None:
    try:
        entry, folder = _entry()
        _bring_from_source(folder)
        if not _marker(folder).exists():
            loading.is_compiling.set()
            _have_compiled(folder)
        loading.run = _compile(entry, folder)
    except (ImportError, OSError, RuntimeError):
        # Without a compiler that works, or a place for its cache, the plain functions stay.
        loading.run = None
    finally:
        loading.is_over.set()


def compile_here() -> Path:
    """Compile in this process where the cache has nothing; return the folder of the cache."""
    entry, folder = _entry()
    _bring_from_source(folder)
    _compile(entry, folder)
    return folder


def _entry() -> tuple[Any, Path]:
    """Return the entry to the kernel, not compiled yet, and the folder of its cache.

    Its functions call each other compiled. They are given bare pointers: arrays would be counted in and out at each
    call, and every index looked at for being below 0, which would take longer than the work.
    """
    numba = importlib.import_module("numba")
    types = importlib.import_module("numba.types")
    caching = importlib.import_module("numba.core.caching")
    namespace = dict(vars(kernel))
    for name, function in vars(kernel).items():
        if isinstance(function, FunctionType):
            bound = FunctionType(function.__code__, namespace, name)
            bound.__module__ = kernel.__name__
            if name == "run":
                run = bound
                continue
            inline = "always" if name in kernel.WRITTEN_OUT else "never"
            namespace[name] = numba.njit(nogil=True, inline=inline)(bound)
    long, short = types.CPointer(types.int64), types.CPointer(types.int32)
    pointers = [short if number in kernel.SHORT else long for number in range(kernel.COLUMNS)]
    signature = types.void(*pointers, types.int64)
    return partial(numba.cfunc(signature, cache=True), run), Path(caching.FunctionCache(run).cache_path)


def _compile(entry: Any, folder: Path) -> Run:
    callback = entry()
    _marker(folder).touch()
    call: Any = ctypes.CFUNCTYPE(None, *(ctypes.c_void_p,) * kernel.COLUMNS, ctypes.c_int64)(callback.address)
    call.compiled = callback  # its code lives as long as it does

    def run(*columns_and_rounds: Any) -> None:
        *columns, rounds = columns_and_rounds
        call(*(column.ctypes.data for column in columns), rounds)

    return run


def _marker(folder: Path) -> Path:
    """Return the file that says that the cache holds this very text compiled for this very machine."""
    numba = importlib.import_module("numba")
    binding = importlib.import_module("llvmlite.binding")
    digest = hashlib.sha256(Path(kernel.__file__).read_bytes() + Path(__file__).read_bytes())
    for part in (
        numba.__version__,
        sys.version,
        binding.get_host_cpu_name(),
        str(binding.get_host_cpu_features()),
    ):
        digest.update(part.encode())
    return folder / f"kernel-{digest.hexdigest()[:16]}.ready"


def _bring_from_source(folder: Path) -> None:
    """Copy what was compiled beside the source, as into an image, to where this process may write."""
    beside = Path(kernel.__file__).parent / "__pycache__"
    if folder != beside and not _marker(folder).exists() and _marker(beside).exists():
        for file in beside.glob("kernel*.n*"):
            shutil.copy2(file, folder)
        _marker(folder).touch()


def _have_compiled(folder: Path) -> None:
    """Compile in a child process, one at a time over all processes; come back when the cache is there."""
    lock = _marker(folder).with_suffix(".compiling")
    began = monotonic()
    while True:
        try:
            os.close(os.open(lock, os.O_CREAT | os.O_EXCL))
            break
        except FileExistsError:
            if monotonic() - began > MOST_COMPILING_S:
                lock.unlink(missing_ok=True)  # whoever compiled there is gone
            sleep(WAIT_S)
            if _marker(folder).exists():
                return
    try:
        quiet = subprocess.DEVNULL
        command = [sys.executable, "-m", WARM_COMMAND]
        subprocess.run(command, stdin=quiet, stdout=quiet, stderr=quiet, cwd=_root(), check=False)
    finally:
        lock.unlink(missing_ok=True)


def _root() -> Path:
    return Path(kernel.__file__).parents[2]
