"""Written code to machine code, kept between runs under a name that cannot go stale.

The written source is stored in the user's cache folder under the hash of its text, and numba keeps its
machine code beside it. Another holding, another version of the physics or of numba is another text and
another file; an install that cannot be written to does not matter.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import sys
import tempfile
from functools import lru_cache
from pathlib import Path
from types import ModuleType

HEADER = '''"""Written by holdwater from its daily loop for one holding; safe to delete."""

from numba import njit
from numpy import ceil, inf

compiled = njit(
    "void(float64[::1], float64[:, ::1], int64, int64)",
    nogil=True, cache=True, error_model="numpy", boundscheck=False,
)
'''


def folder() -> Path:
    """Where compiled code is kept: `HOLDWATER_CACHE`, else the user's cache folder, else a temporary one."""
    from platformdirs import user_cache_path

    wanted = os.environ.get("HOLDWATER_CACHE")
    place = (Path(wanted) if wanted else user_cache_path("holdwater")) / "compiled"
    try:
        place.mkdir(parents=True, exist_ok=True)
        if os.access(place, os.W_OK):
            return place
    except OSError:
        pass
    return _temporary()


@lru_cache(maxsize=1)
def _temporary() -> Path:
    return Path(tempfile.mkdtemp(prefix="holdwater-"))


@lru_cache(maxsize=64)
def load(source: str) -> ModuleType:
    """Import written source, compiled; from the cache where it has been compiled before.

    Parameters
    ----------
    source : str
        Functions of `specialise.written`, each `name(M, D, first, last)`.
    """
    import numba

    text = HEADER + "".join(f"\n\n@compiled\n{part}" for part in source.split("\n\n") if part.strip())
    text += f"\n# numba {numba.__version__}\n"
    name = "holding_" + hashlib.sha256(text.encode()).hexdigest()[:24]
    path = folder() / f"{name}.py"
    if not path.is_file() or path.read_text("utf-8") != text:
        handle, partial = tempfile.mkstemp(dir=path.parent, prefix=".new-", suffix=".py")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        os.replace(partial, path)
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module
