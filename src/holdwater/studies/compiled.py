"""Written code to machine code, kept between runs under a name that cannot go stale; or run as it stands.

The written source is stored in the user's cache folder under the hash of its text, and numba keeps its
machine code beside it. Another holding, another version of the physics or of numba is another text and
another file; an install that cannot be written to does not matter.

For a few designs plain Python is done before the compiler is even loaded: `plain` turns the same text
into functions on lists of one design.
"""

from __future__ import annotations

import hashlib
import importlib.util
import math
import os
import re
import sys
import tempfile
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from types import ModuleType

from holdwater.studies.specialise import WIDTH

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


def is_kept(source: str) -> bool:
    """Whether written source has been compiled before, here or in an earlier run."""
    path = _path(_text(source))
    return path.is_file() and any((path.parent / "__pycache__").glob(f"{path.stem}.*.nbi"))


@lru_cache(maxsize=64)
def load(source: str) -> ModuleType:
    """Import written source, compiled; from the cache where it has been compiled before.

    Parameters
    ----------
    source : str
        Functions of `specialise.written`, each `name(M, D, first, last)`.
    """
    text = _text(source)
    path = _path(text)
    if not path.is_file() or path.read_text("utf-8") != text:
        handle, partial = tempfile.mkstemp(dir=path.parent, prefix=".new-", suffix=".py")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        os.replace(partial, path)
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = module
    spec.loader.exec_module(module)
    return module


def _text(source: str) -> str:
    parts = (part for part in source.split("\n\n") if part.strip())
    text = HEADER + "".join(f"\n\n@compiled\n{part}" for part in parts)
    return f"{text}\n# numba {metadata.version('numba')}\n"


def _path(text: str) -> Path:
    return folder() / f"holding_{hashlib.sha256(text.encode()).hexdigest()[:24]}.py"


def plain(source: str) -> ModuleType:
    """Written source as plain Python for one design: `M` is its list of numbers, `D` a list of lists of days.

    The operations and their order are those of the compiled code, so the bits are the same.
    """
    text = re.sub(r"M\[(\d+) \+ k\]", lambda found: f"M[{int(found[1]) // WIDTH}]", source)
    text = re.sub(r"D\[(\d+), day\]", r"D[\1][day]", text)
    text = text.replace(f"for k in range({WIDTH}):", "if True:")
    module = ModuleType("holding_in_plain_python")
    module.__dict__.update(ceil=math.ceil, inf=math.inf)
    exec(compile(text, module.__name__, "exec"), module.__dict__)
    return module
