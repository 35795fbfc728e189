"""The one decorator that compiles kernels, with a cache that is never stale.

numba keys a cached function by the contents of its own file only, so a change
in another file would leave old machine code in the callers.  Here all kernel
sources and the numba version are hashed, and the hash names the
cache folder: another source, another folder.
"""

from __future__ import annotations

import hashlib
import os
import stat
import tempfile
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import Any

import numba


def kernel_sources() -> list[Path]:
    """All files that compiled code comes from: the room of physics, and of the room of flight those that hold
    kernels.  They import from each other alone (a test holds them to it)."""
    package = Path(__file__).resolve().parent.parent
    flight = [f for f in (package / "flight").glob("*.py") if b"\n@kernel" in f.read_bytes()]
    return sorted((package / "physics").glob("*.py")) + sorted(flight)


def _sources_hash() -> str:
    digest = hashlib.sha256(numba.__version__.encode())
    for source in kernel_sources():
        digest.update(source.name.encode() + b"\0" + source.read_bytes())
    return digest.hexdigest()[:16]


def _ours_alone(folder: Path, user: int) -> bool:
    """Whether nobody but a user and root can put files into a folder, or another folder in its place.

    A cache is pickled code: whoever writes it runs it.  Each folder on the way down belongs to one of the
    two, and others write to it only where they cannot rename what is not theirs (a sticky one, as /tmp).
    """
    own = folder.stat()
    if own.st_uid != user or own.st_mode & 0o022:
        return False
    for above in folder.parents:
        found = above.stat()
        if found.st_uid not in (0, user) or (found.st_mode & 0o022 and not found.st_mode & stat.S_ISVTX):
            return False
    return True


def _make_private(folder: Path) -> None:
    """Make a folder and those above it that are missing, each for the user alone."""
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    for path in reversed(missing):
        path.mkdir(mode=0o700, exist_ok=True)


def _cache_folder() -> str | None:
    """First of package, user cache and temporary folder that can be written, by us alone; else None."""
    name = _sources_hash()
    user = os.getuid() if hasattr(os, "getuid") else None
    candidates = [Path(__file__).resolve().parent / "__pycache__" / "kernels"]
    if os.environ.get("NUMBA_CACHE_DIR"):
        candidates.insert(0, Path(os.environ["NUMBA_CACHE_DIR"]))
    home = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    if os.path.isabs(home):
        candidates.append(Path(home) / "sixdof")
    with suppress(OSError):  # on a full disk there is none
        candidates.append(Path(tempfile.gettempdir()) / f"sixdof-{user or 0}")
    for base in candidates:
        try:
            folder = base.resolve() / name  # a link that is turned later leads nowhere
            _make_private(folder)
            folder = folder.resolve()
            if user is not None and not _ours_alone(folder, user):
                continue
            probe = folder / f".probe-{os.getpid()}"
            probe.write_bytes(b"")
            probe.unlink()
        except (OSError, RuntimeError):
            continue
        return str(folder)
    return None


CACHE_FOLDER = _cache_folder()


def is_compiled() -> bool:
    """True when compiled kernels of just these sources lie in the cache."""
    return CACHE_FOLDER is not None and any(Path(CACHE_FOLDER).rglob("loop.fly_many*.nbc"))


#: Kernels that only look into arrays which their caller keeps: no counting of who holds them, 5 ns a slice.
_NO_COUNTS = (
    "sixdof.physics.",
    *(f"sixdof.flight.{name}" for name in ("follow", "frame", "loop", "mixing", "pilot")),
)


def kernel(function: Callable[..., Any]) -> Any:
    """Compile a scalar function in numba's nopython mode, cached across runs.

    Parameters
    ----------
    function : callable
        Reads scalars, records and arrays; allocates nothing, raises nothing.

    Notes
    -----
    Arithmetic as written (no ``fastmath``): NaN stays NaN, and a sum has the same bits in a scalar and
    in a vector.  Physics, and what a frame is made of, is inlined where it is called: a loop over lanes
    with a call in it stays scalar.
    A running kernel releases the interpreter lock, so that :func:`parallel_for` uses all cores.
    """
    module = function.__module__
    options: dict[str, Any] = {
        "cache": CACHE_FOLDER is not None,
        "error_model": "numpy",
        "nogil": True,
        "forceinline": module.startswith(("sixdof.physics.", "sixdof.flight.frame")),
        "_nrt": not module.startswith(_NO_COUNTS),
    }
    settings: Any = numba.config
    before = settings.CACHE_DIR
    settings.CACHE_DIR = CACHE_FOLDER or before
    try:
        return numba.njit(function, **options)
    finally:
        settings.CACHE_DIR = before


def parallel_for(n: int, work: Callable[[int, int], object], *, worth: int = 2) -> None:
    """Do ``n`` independent pieces of work on all cores (``NUMBA_NUM_THREADS`` of them).

    Parameters
    ----------
    n : int
    work : callable
        ``work(first, stride)`` does piece ``first`` and every ``stride``-th after it; mostly a kernel.
    worth : int
        Pieces for which a thread is worth starting.
    """
    threads = max(1, min(numba.get_num_threads(), n // worth))
    if threads == 1:
        work(0, 1)
        return
    with ThreadPoolExecutor(threads - 1) as pool:
        others = [pool.submit(work, k, threads) for k in range(1, threads)]
        work(0, threads)
        for other in others:
            other.result()
