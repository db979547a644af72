"""A text table cut into columns of bytes, without a Python object per cell.

Quoted fields, ragged lines, blank lines and comments are handled; line numbers are kept so that
a fault can be named by its line.
"""

from __future__ import annotations

from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError

Bytes = npt.NDArray[np.uint8]
Index = npt.NDArray[np.integer]

WIDEST = 48
"""Bytes kept of one cell; dates and numbers are shorter, longer text is cut."""
MOST_COLUMNS = 400
BLOCK = 4096
"""Rows worked on at a time where much is computed for each."""
NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "space"}


@dataclass(frozen=True)
class Cells:
    """One column, trimmed: `chars` has shape (width, rows), padded with zero bytes."""

    chars: Bytes
    rows: Index

    @property
    def lines(self) -> Index:
        """Line of the file each cell stands on, counted from 1."""
        return self.rows + 1

    def texts(self, rows: npt.NDArray[np.bool_] | Index | slice = slice(None)) -> list[str]:
        """The cells of some rows as text."""
        chosen = np.ascontiguousarray(self.chars[:, rows].T)
        if not chosen.shape[1]:
            return [""] * chosen.shape[0]
        cells = chosen.view(f"S{chosen.shape[1]}").ravel().tolist()
        return [cell.decode("utf-8", "replace") for cell in cells]

    def at(self, rows: npt.NDArray[np.bool_] | Index) -> Cells:
        """The cells of some rows."""
        return Cells(self.chars[:, rows], self.rows[rows])

    def equal(self, word: str) -> npt.NDArray[np.bool_]:
        """Rows whose cell is exactly this word."""
        same = np.ones(len(self.rows), dtype=bool)
        if len(self.chars) < len(word):
            return ~same
        for j, char in enumerate(word.encode()):
            same &= self.chars[j] == char
        if len(self.chars) > len(word):
            same &= self.chars[len(word)] == 0
        return same

    def coded(self) -> tuple[list[str], npt.NDArray[np.intp]]:
        """The different texts of the column, sorted, and for every row which of them it is."""
        n = len(self.rows)
        if not n or not len(self.chars) or (self.chars == self.chars[:, :1]).all():
            return self.texts(slice(0, 1)) if n else [], np.zeros(n, dtype=np.intp)
        rows = np.ascontiguousarray(self.chars.T)
        found, which = np.unique(rows.view(f"S{rows.shape[1]}").ravel(), return_inverse=True)
        return [text.decode("utf-8", "replace") for text in found.tolist()], which

    def distinct(self) -> list[str]:
        """The different texts of the column, sorted."""
        return self.coded()[0]

    @property
    def letter(self) -> Bytes:
        """First character of each cell, 0 where blank."""
        return self.chars[0] if len(self.chars) else np.zeros(len(self.rows), dtype=np.uint8)

    @property
    def blank(self) -> npt.NDArray[np.bool_]:
        """Rows in which nothing is written."""
        if not len(self.chars):
            return np.ones(len(self.rows), dtype=bool)
        return np.asarray(self.chars[0] == 0)


class Table:
    """A delimited text table.

    Parameters
    ----------
    text : bytes
        UTF-8 text with line feeds.
    separator : str
        One character; a space stands for any run of spaces and tabs.
    name : str
        File name, for messages.
    header_line : int
        Line (counted from 0) that names the columns; lines before it are not looked at.
    header : bool
        False where the first line is data already; columns are then named "1", "2", ...
    """

    def __init__(
        self, text: bytes, separator: str, name: str, header_line: int = 0, header: bool = True
    ) -> None:
        if separator == " ":
            text = b"\n".join(b" ".join(line.split()) for line in text.split(b"\n"))
        if not text.endswith(b"\n"):
            text += b"\n"
        self.name, self.separator, self.header_line = name, separator, header_line
        offset = 0
        for _ in range(header_line):
            offset = text.index(b"\n", offset) + 1
        self._above = header_line
        self._bytes = np.frombuffer(text, dtype=np.uint8, offset=offset)
        self._cut(ord(separator))
        self._count = np.diff(self._first_after(self._ends), prepend=np.int32(0))
        names = self._header()
        self.columns = names if header else [str(i + 1) for i in range(len(names))]
        self._keep_rows(int(header))

    def _cut(self, separator: int) -> None:
        """Find the ends of lines and the separators; what stands between quotes is neither."""
        inside: npt.NDArray[np.bool_] | None = None
        quotes = self._bytes == 34
        if quotes.any():
            inside = np.logical_xor.accumulate(quotes)
            if inside[-1]:
                last = int(np.flatnonzero(quotes)[-1])
                line = int(np.count_nonzero(self._bytes[:last] == 10)) + 1 + self._above
                raise InputError(
                    f"weather file '{self.name}': line {line} opens a quote that is never closed"
                )
        del quotes
        self._ends = self._positions(10, inside)
        feeds = self._positions(10, None) if inside is not None else self._ends
        self._feeds = feeds if len(feeds) > len(self._ends) else None
        self._seps = self._positions(separator, inside)

    def _positions(self, char: int, inside: npt.NDArray[np.bool_] | None) -> Index:
        mask = self._bytes == char
        if inside is not None:
            mask &= ~inside
        return np.flatnonzero(mask).astype(np.int32)

    def _first_after(self, positions: Index) -> Index:
        return np.searchsorted(self._seps, positions).astype(np.int32)

    def _starts(self, rows: Index) -> Index:
        """Position at which each line starts."""
        before: Index = self._ends[rows - 1] + 1
        return np.where(rows > 0, before, 0).astype(np.int32)

    @property
    def lines(self) -> Index:
        """Line of the file each row stands on, counted from 1."""
        return self._numbers(self._rows) + 1

    def _numbers(self, rows: Index) -> Index:
        """Lines of the file counted from 0; a quoted text may hold a line feed."""
        if self._feeds is None:
            return rows + self._above
        return np.searchsorted(self._feeds, self._starts(rows)) + self._above

    def _header(self) -> list[str]:
        end = int(self._ends[0])
        bounds = [-1, *self._seps[self._seps < end].tolist(), end]
        raw = self._bytes[: end + 1].tobytes()
        fields = [raw[a + 1 : b] for a, b in pairwise(bounds)]
        if len(fields) > MOST_COLUMNS:
            raise InputError(f"weather file '{self.name}' has {len(fields)} columns; {MOST_COLUMNS} are read")
        return [field.decode("utf-8", "replace").strip().strip('"').strip() for field in fields]

    def _keep_rows(self, first: int) -> None:
        """Leave out blank lines and comments, and mark lines of another width."""
        every = np.arange(len(self._ends), dtype=np.int32)
        starts = self._starts(every)
        blank = self._ends - starts == self._count  # nothing but separators
        comment = self._bytes[starts] == 35
        kept = every[~blank & ~comment]
        self._rows = kept[kept >= first]
        self._first = self._first_after(starts[self._rows])  # first separator of each row
        self.short = self._count[self._rows] + 1 < len(self.columns)
        self.long = self._count[self._rows] + 1 > len(self.columns)
        if self.long.any():
            self.long &= ~self._only_blanks_follow(len(self.columns))

    def _only_blanks_follow(self, count: int) -> npt.NDArray[np.bool_]:
        """Rows whose surplus fields are empty: a separator too many at the end of the line."""
        surplus = self._count[self._rows] + 1 - count
        start = self._seps[np.minimum(self._first + count - 1, len(self._seps) - 1)]
        return np.asarray(self._ends[self._rows] - start == surplus)

    def __len__(self) -> int:
        """Number of data rows."""
        return len(self._rows)

    def cells(self, column: int, widest: int = WIDEST, rows: Index | slice = slice(None)) -> Cells:
        """One column by its position, or some of its rows, trimmed of blanks and quotes."""
        at, first = self._rows[rows], self._first[rows]
        present = self._count[at] >= column
        top = max(len(self._seps) - 1, 0)
        start, end = self._starts(at), self._ends[at]
        if len(self._seps):
            if column:
                start = self._seps[np.minimum(first + column - 1, top)] + 1
            inner = self._count[at] > column
            end[inner] = self._seps[np.minimum(first + column, top)][inner]
        start[~present] = end[~present]
        start, end = self._trim(start, end, (32, 9))
        quoted = (end - start >= 2) & (self._bytes[np.minimum(start, len(self._bytes) - 1)] == 34)
        if quoted.any():
            start, end = self._trim(start + quoted, end - quoted, (32, 9))
        return Cells(self._gather(start, end, widest), self._numbers(at))

    def _trim(self, start: Index, end: Index, blanks: tuple[int, ...]) -> tuple[Index, Index]:
        for _ in range(WIDEST):
            head = (start < end) & np.isin(self._bytes[start], blanks)
            tail = (start < end) & np.isin(self._bytes[end - 1], blanks)
            if not head.any() and not tail.any():
                break
            start = start + head
            end = np.maximum(end - tail, start)
        return start, end

    def _gather(self, start: Index, end: Index, widest: int) -> Bytes:
        width = min(int((end - start).max(initial=0)), widest)
        chars = np.zeros((width, len(start)), dtype=np.uint8)
        top = len(self._bytes) - 1
        for j in range(width):
            chars[j] = np.where(start + j < end, self._bytes[np.minimum(start + j, top)], 0)
        return chars

    def without(self, rows: Index) -> Table:
        """The table without some of its rows."""
        kept = np.ones(len(self), dtype=bool)
        kept[rows] = False
        other = copy(self)
        other._rows, other._first = self._rows[kept], self._first[kept]
        other.short, other.long = self.short[kept], self.long[kept]
        return other

    def width_faults(self) -> list[str]:
        """Sentences about lines that do not have the header's number of fields."""
        faults = []
        for mask, what in ((self.long, "more"), (self.short, "fewer")):
            if mask.any():
                cure = (
                    "a decimal comma or a comma inside a text needs quotes or another separator"
                    if what == "more"
                    else "write the missing separators, or complete a file that was cut off"
                )
                lines, verb = name_lines(self.lines[mask]), "has" if mask.sum() == 1 else "have"
                faults.append(
                    f"weather file '{self.name}': {lines} {verb} {what} fields than the "
                    f"{len(self.columns)} columns; {cure}"
                )
        return faults


def name_lines(lines: Iterable[int], limit: int = 5) -> str:
    """ "line 7", or "lines 3, 7, 12 and 40 more"."""
    numbers = [int(line) for line in lines]
    if len(numbers) == 1:
        return f"line {numbers[0]}"
    shown = ", ".join(str(n) for n in numbers[:limit])
    return f"lines {shown}" + (f" and {len(numbers) - limit} more" if len(numbers) > limit else "")


def first_lines(text: bytes, count: int) -> list[str]:
    """The first lines of a text, decoded, for recognising what it is."""
    lines: list[str] = []
    at = 0
    while len(lines) < count and at < len(text):
        end = text.find(b"\n", at)
        end = len(text) if end < 0 else end
        lines.append(text[at : min(end, at + 20_000)].decode("utf-8", "replace"))
        at = end + 1
    return lines


def separator_of(line: str) -> str | None:
    """The separator a header line uses: semicolon, tab, comma, bar, else blanks; None for one word."""
    bare, inside = [], False
    for char in line:
        inside ^= char == '"'
        if not inside:
            bare.append(char)
    text = "".join(bare)
    for separator in (";", "\t", ",", "|"):
        if separator in text:
            return separator
    return " " if len(text.split()) > 1 else None
