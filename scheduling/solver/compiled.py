"""The kernel compiled, when that is ready: loaded in the background, or compiled before by a child process.

Until then, and where the compiler is missing or switched off (NUMBA_DISABLE_JIT=1), the same functions run as plain
Python and find the same plans, only slower. Compiled is what compiles asks nothing of anybody: one piece of machine
code that calls only itself, kept in a file. So the compiler (numba) is imported where the kernel is compiled and nowhere
else: it takes over a second to import, and what loads the file (llvmlite, which comes with it) a tenth of one.
"""

import ctypes
import hashlib
import importlib
import importlib.util
import os
import re
import subprocess
import sys
from collections.abc import Callable, Sequence
from functools import cache, partial
from importlib.metadata import version
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


class _Linked:
    """The compiled `kernel.run`."""

    def __init__(self, call: Any) -> None:
        self.call = call
        # It tells what was raised, and nothing in it raises.
        self.returned, self.told = ctypes.c_void_p(), ctypes.c_void_p()

    def __call__(self, *columns_and_rounds: Any) -> None:
        *columns, rounds = columns_and_rounds
        self.bound(columns)(rounds)

    def bound(self, columns: Sequence[Any]) -> Callable[[int], None]:
        own = ctypes.addressof(self.returned), ctypes.addressof(self.told)
        return partial(self.call, *map(ctypes.c_void_p, (*own, *(column.ctypes.data for column in columns))))


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


def bound(run: Run, columns: Sequence[Any]) -> Callable[[int], None]:
    """Return what runs so many rounds on these columns, for as long as they live; to ask where they are takes longer."""
    return run.bound(columns) if isinstance(run, _Linked) else partial(run, *columns)


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
        found = kept()
        if found is None:
            loading.is_compiling.set()
            _have_compiled()
            found = kept()
        loading.run = None if found is None else _linked(*found)
    except (ImportError, OSError, RuntimeError):
        # Without a compiler that works, or a place for its outcome, the plain functions stay.
        loading.run = None
    finally:
        loading.is_over.set()


def compile_here() -> Path:
    """Compile in this process where that was not done before; return the file."""
    if kept() is None:
        _keep(*_compiled())
    return next(file for file in _files() if kept_in(file) is not None)


def _compiled() -> tuple[str, bytes]:
    """Return the name of the compiled `run` and its code, in which the functions call each other.

    They are given bare pointers: arrays would be counted in and out at each call, and every index looked at for being
    below 0, which would take longer than the work. RuntimeError if the code calls anything that is not in it.
    """
    numba = importlib.import_module("numba")
    types = importlib.import_module("numba.types")
    namespace = dict(vars(kernel))
    for name, function in vars(kernel).items():
        if isinstance(function, FunctionType):
            bound = FunctionType(function.__code__, namespace, name)
            bound.__module__ = kernel.__name__
            if name == "run":
                run = bound
                continue
            inline = "always" if name in kernel.WRITTEN_OUT else "never"
            namespace[name] = numba.njit(error_model="numpy", inline=inline)(bound)
    long, short = types.CPointer(types.int64), types.CPointer(types.int32)
    pointers = [short if number in kernel.SHORT else long for number in range(kernel.COLUMNS)]
    signature = types.void(*pointers, types.int64)
    alone = {"error_model": "numpy", "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    made = numba.njit(signature, **alone)(run).overloads[signature.args]
    asks = re.findall(r"^declare .*@(?!llvm\.)([\w.]+)", made.library.get_llvm_str(), re.MULTILINE)
    if asks:
        raise RuntimeError(f"the compiled kernel asks for {', '.join(asks)}")
    _, _, (code, _) = made.library.serialize_using_object_code()
    return made.fndesc.llvm_func_name, code


def _linked(name: str, code: bytes) -> Run:
    """Return what runs the machine code of a file."""
    llvm = importlib.import_module("llvmlite.binding")
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    machine = llvm.Target.from_default_triple().create_target_machine(jit=True)
    engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), machine)
    engine.add_object_file(llvm.ObjectFileRef.from_data(code))
    engine.finalize_object()
    pointers = (ctypes.c_void_p,) * (2 + kernel.COLUMNS)
    call: Any = ctypes.CFUNCTYPE(ctypes.c_int32, *pointers, ctypes.c_int64)(engine.get_function_address(name))
    call.engine = engine  # its code lives as long as it does
    return _Linked(call)


@cache
def _file_name() -> str:
    """Return the name of the file with this very text compiled for this very machine."""
    binding = importlib.import_module("llvmlite.binding")
    digest = hashlib.sha256(Path(kernel.__file__).read_bytes() + Path(__file__).read_bytes())
    for part in (
        version("numba"),
        version("llvmlite"),
        binding.get_host_cpu_name(),
        str(binding.get_host_cpu_features()),
    ):
        digest.update(part.encode())
    return f"kernel-{digest.hexdigest()[:16]}.code"


def _files() -> list[Path]:
    """Return where the file may be, the first that this process may write to before others."""
    beside = Path(kernel.__file__).parent / "__pycache__"
    named = os.environ.get("NUMBA_CACHE_DIR")
    own = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "farmops"
    folders = [Path(named), beside] if named else [beside, own]
    folders.sort(key=lambda folder: not _may_write(folder))
    return [folder / _file_name() for folder in folders]


def _may_write(folder: Path) -> bool:
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent
    return os.access(folder, os.W_OK)


def kept() -> tuple[str, bytes] | None:
    """Return the name of the compiled `run` and its code, or None where no file has them whole."""
    return next((found for found in map(kept_in, _files()) if found is not None), None)


def kept_in(file: Path) -> tuple[str, bytes] | None:
    """Return the same from one file."""
    if not file.exists():
        return None
    digest, _, rest = file.read_bytes().partition(b"\n")
    if hashlib.sha256(rest).hexdigest().encode() != digest:
        return None
    name, _, code = rest.partition(b"\n")
    return name.decode(), code


def _keep(name: str, code: bytes) -> None:
    file = _files()[0]
    file.parent.mkdir(parents=True, exist_ok=True)
    beside = file.with_name(f".{file.name}.{os.getpid()}.part")
    whole = name.encode() + b"\n" + code
    beside.write_bytes(hashlib.sha256(whole).hexdigest().encode() + b"\n" + whole)
    beside.replace(file)


def _have_compiled() -> None:
    """Compile in a child process, one at a time over all processes; come back when the file is there."""
    file = _files()[0]
    file.parent.mkdir(parents=True, exist_ok=True)
    lock = file.with_suffix(".compiling")
    began = monotonic()
    while True:
        try:
            os.close(os.open(lock, os.O_CREAT | os.O_EXCL))
            break
        except FileExistsError:
            if monotonic() - began > MOST_COMPILING_S:
                lock.unlink(missing_ok=True)  # whoever compiled there is gone
            sleep(WAIT_S)
            if kept() is not None:
                return
    try:
        quiet = subprocess.DEVNULL
        command = [sys.executable, "-m", WARM_COMMAND]
        subprocess.run(command, stdin=quiet, stdout=quiet, stderr=quiet, cwd=_root(), check=False)
    finally:
        lock.unlink(missing_ok=True)


def _root() -> Path:
    return Path(kernel.__file__).parents[2]
