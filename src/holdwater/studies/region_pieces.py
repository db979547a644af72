"""A region in pieces: how it is cut, and the finished pieces kept on disk so that a stopped run goes on."""

from __future__ import annotations

import hashlib
import math
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import xarray as xr

from holdwater.errors import InputError

FOLDER = "region-pieces"
KEY = "key.txt"
MANY = 32
"""About how many pieces a region is cut into, so that a stopped run loses little."""
FEW = 12
"""The same for a file in which every piece lies all over it."""
LEAST_PLACES, MOST_PLACES = 16, 1024
"""In a piece."""
MOST_BYTES = 96_000_000
"""Weather of one piece in memory."""


@dataclass(frozen=True)
class Piece:
    """Part of a region that is run in one go.

    Attributes
    ----------
    number : int
        Its place among the pieces.
    where : dict of str to slice
        The places it holds, by dimension.
    """

    number: int
    where: Mapping[str, slice]

    @property
    def size(self) -> int:
        """How many places it holds."""
        return math.prod(span.stop - span.start for span in self.where.values())


def cut(sizes: Mapping[str, int], stored: Mapping[str, int], weight: int) -> list[Piece]:
    """Cut a region into rectangles that fit into memory.

    To read one value of a file its whole chunk is read. Small chunks are kept together in a piece; where
    a chunk is larger than a piece would be, every piece reads much of the file again, so there are fewer.

    Parameters
    ----------
    sizes : mapping of str to int
        Places by dimension, the last one turning fastest.
    stored : mapping of str to int
        Chunks of the file by dimension; empty where it is stored in one go.
    weight : int
        What the weather of one place takes in memory [bytes].
    """
    total = math.prod(sizes.values())
    most = max(1, min(MOST_PLACES, MOST_BYTES // max(weight, 1)))
    wanted = max(LEAST_PLACES, -(-total // MANY))
    chunks = {d: min(stored.get(d, 1), size) for d, size in sizes.items()}
    if math.prod(chunks.values()) > 2 * wanted:
        chunks = dict.fromkeys(sizes, 1)
        wanted = max(wanted, -(-total // FEW))
    room, steps = min(wanted, most), {}
    for d, size in reversed(list(sizes.items())):
        step = max(1, room // chunks[d])
        parts = -(-size // (step * chunks[d]))
        steps[d] = min(size, -(-size // (parts * chunks[d])) * chunks[d])  # as even as chunks allow
        room = max(1, room // steps[d])
    while math.prod(steps.values()) > most:
        longest = max(steps, key=lambda d: steps[d])
        steps[longest] = -(-steps[longest] // 2)
    spans = [[slice(a, min(a + steps[d], n)) for a in range(0, n, steps[d])] for d, n in sizes.items()]
    return [Piece(i, dict(zip(sizes, each, strict=True))) for i, each in enumerate(product(*spans))]


class Store:
    """Finished pieces in a folder, each file whole or not there.

    Parameters
    ----------
    folder : Path
        Output folder of the region; the pieces lie in a folder of their own in it.
    key : str
        Stands for weather, scenario and version. Pieces of another key are of no use and are removed.

    Raises
    ------
    InputError
        The folder cannot be made or written.
    """

    def __init__(self, folder: Path, key: str) -> None:
        self.folder = folder / FOLDER
        self.key = hashlib.sha256(key.encode()).hexdigest()
        self.discarded = 0
        with _writing():
            if self._key_found() != self.key:
                self.discarded = len(list(self.folder.glob("piece-*.nc")))
                shutil.rmtree(self.folder, ignore_errors=True)
                self.folder.mkdir(parents=True, exist_ok=True)
                (self.folder / KEY).write_text(self.key, "utf-8")

    def _key_found(self) -> str:
        with suppress(OSError, UnicodeError):
            return (self.folder / KEY).read_text("utf-8").strip()
        return ""

    def _path(self, piece: Piece) -> Path:
        return self.folder / f"piece-{piece.number:05d}.nc"

    def has(self, piece: Piece) -> bool:
        """Whether a piece is there."""
        return self._path(piece).exists()

    def take(self, piece: Piece) -> xr.Dataset | None:
        """A finished piece, None where there is none or its file is damaged."""
        path = self._path(piece)
        if not path.exists():
            return None
        try:
            with xr.open_dataset(path, engine="scipy", cache=False) as data:
                found = data.load()
        except Exception:  # the libraries below raise whatever they like on a damaged file
            return None
        sizes = {d: span.stop - span.start for d, span in piece.where.items()}
        return found if all(found.sizes.get(d) == n for d, n in sizes.items()) else None

    def keep(self, piece: Piece, result: xr.Dataset) -> None:
        """Write a finished piece beside its place first, then move it there.

        Raises
        ------
        InputError
            The folder cannot be written.
        """
        with _writing():
            content = result.to_netcdf(
                engine="scipy"
            )  # in memory: to a file it asks Dask for a lock, value by value
            handle, beside = tempfile.mkstemp(dir=self.folder, prefix=".new-", suffix=".nc")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(content)
                os.replace(beside, self._path(piece))
            finally:
                with suppress(FileNotFoundError):
                    os.unlink(beside)

    def clear(self) -> None:
        """Remove the pieces: the whole is written."""
        shutil.rmtree(self.folder, ignore_errors=True)


@contextmanager
def _writing() -> Iterator[None]:
    """Tell a folder that cannot be written in plain words."""
    try:
        yield
    except OSError as fault:
        raise InputError(
            f"cannot write into the output folder: {fault.strerror or fault}; choose another with --out"
        ) from fault


def stored_chunks(data: xr.DataArray, dimensions: Sequence[str]) -> dict[str, int]:
    """Chunks of a variable in its file, by dimension; empty where it is stored in one go."""
    chunks = data.encoding.get("chunksizes") or data.encoding.get("preferred_chunks", {})
    if not isinstance(chunks, Mapping):
        chunks = dict(zip(map(str, data.dims), chunks, strict=True))
    return {d: int(chunks[d]) for d in dimensions if d in chunks}
