"""Cells to numbers: plain numbers all at once, whatever is left one distinct text at a time."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather.formats.table import BLOCK, Cells, name_lines

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

MISSING_WORDS = frozenset(
    [
        "",
        "na",
        "n/a",
        "#n/a",
        "<na>",
        "nan",
        "nat",
        "null",
        "none",
        "m",
        "missing",
        "-",
        "--",
        "---",
        ".",
        "?",
    ]
)
MISSING_NUMBERS = (-9999.0, -999.0, -99.0, -9999.9, -999.9, -99.9, -999.99, -99.99, -8888.0)
TRACE_WORDS = frozenset({"t", "tr", "tr.", "trace", "traces", "trc"})
LARGEST_NUMBER = 1e12
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?")
_LESS_THAN = re.compile(r"<\s*([0-9]*[.,]?[0-9]+)")
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d*)?")


class StrangeCells(InputError):
    """Cells of a column that are no number; whoever reads the table may go on without them.

    Attributes
    ----------
    rows : ndarray of int
        Their rows.
    texts : tuple of str
        What they say.
    """

    def __init__(self, fault: str, rows: npt.NDArray[np.int64], texts: tuple[str, ...]) -> None:
        super().__init__(fault)
        self.rows, self.texts = rows, texts


_TEN_TO = np.array([float(f"1e{k}") for k in range(16)])


@dataclass(frozen=True)
class Numbers:
    """A column of numbers: NaN where missing; `trace` and `missing` tell what the cells said."""

    values: Floats
    missing: Mask
    trace: Mask
    decimal: str


def plain_numbers(cells: Cells, comma: bool = False) -> tuple[Floats, Mask]:
    """Read digits, one sign and one decimal mark in every cell at once.

    Parameters
    ----------
    cells : Cells
        The column.
    comma : bool
        The decimal mark is a comma instead of a point.

    Returns
    -------
    values : ndarray
        The numbers, equal to what `float` makes of the text; undefined where `odd`.
    odd : ndarray of bool
        Cells that hold anything else, blanks among them.
    """
    n = len(cells.rows)
    values, odd = np.empty(n), np.empty(n, dtype=bool)
    for start in range(0, n, BLOCK):
        block = slice(start, start + BLOCK)
        values[block], odd[block] = _plain_block(cells.chars[:, block], 44 if comma else 46)
    return values, odd


def _plain_block(chars: npt.NDArray[np.uint8], point: int) -> tuple[Floats, Mask]:
    n = chars.shape[1]
    mantissa, decimals, digits = np.zeros(n), np.zeros(n, dtype=np.int8), np.zeros(n, dtype=np.int8)
    odd, after, negative = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    for j, char in enumerate(chars):
        digit = (char >= 48) & (char <= 57)
        mark = char == point
        odd |= ~digit & ~mark & (char != 0)
        if j == 0:
            negative = char == 45
            odd &= ~(negative | (char == 43))
        odd |= mark & after
        np.copyto(mantissa, mantissa * 10 + (char - np.uint8(48)), where=digit)
        decimals += digit & after
        digits += digit
        after |= mark
    odd |= (digits == 0) | (digits > 15)
    values = mantissa / _TEN_TO[np.minimum(decimals, 15)]
    return np.where(negative, -values, values), odd


def decimal_mark(cells: Cells, declared: str | None, where: str) -> str:
    """Tell which decimal mark a column uses.

    Raises
    ------
    InputError
        Both marks in one column, or commas that may as well part thousands.
    """
    if declared:
        return declared
    commas = (cells.chars == 44).any(axis=0)
    if not commas.any():
        return "."
    points = (cells.chars == 46).any(axis=0)
    if points.any():
        raise InputError(
            f"{where} mixes decimal points ({name_lines(cells.lines[points], 3)}) and commas "
            f'({name_lines(cells.lines[commas], 3)}); write one of them, or say decimal = "." or ","'
        )
    texts = cells.texts(commas)
    if all(_THOUSANDS.fullmatch(text) for text in texts):
        raise InputError(
            f"{where}: is '{texts[0]}' ({name_lines(cells.lines[commas], 3)}) one number with a decimal "
            'comma, or thousands? Say decimal = "," or write it without the comma'
        )
    return ","


def read_numbers(
    cells: Cells,
    where: str,
    *,
    decimal: str | None = None,
    trace_below: float | None = None,
    missing_marks: tuple[str, ...] = (),
) -> Numbers:
    """Read a column of measurements.

    Parameters
    ----------
    cells : Cells
        The column.
    where : str
        What to call it in messages.
    decimal : str or None
        Declared decimal mark; None decides from the column or refuses.
    trace_below : float or None
        For rain: trace marks ("T", "tr", "<0.2") count as 0 up to this figure; None refuses them.
    missing_marks : tuple of str
        Further texts that mean missing, beyond blank, NA, M and -9999.

    Raises
    ------
    StrangeCells
        Cells that are no number; the message names the texts, their lines and the cure.
    """
    mark = decimal_mark(cells, decimal, where)
    values, odd = plain_numbers(cells, comma=mark == ",")
    declared = {text for m in missing_marks for text in (m.lower(), m.strip().lower())}
    marks = [*MISSING_NUMBERS, *(float(m) for m in declared if _NUMBER.fullmatch(m))]
    missing = cells.blank | (~odd & np.isin(values, marks))
    trace = np.zeros(len(values), dtype=bool)
    rows = np.flatnonzero(odd & ~missing)
    known: dict[str, tuple[float, bool] | None] = {}
    strange: dict[str, list[int]] = {}  # rows by text
    for row, text in zip(rows.tolist(), cells.texts(rows), strict=True):
        if text not in known:
            known[text] = _one_cell(text, mark, trace_below, declared)
        meaning = known[text]
        if meaning is None:
            strange.setdefault(text, []).append(row)
        else:
            values[row], trace[row] = meaning
            missing[row] = np.isnan(meaning[0])
    if strange:
        lines = {text: cells.lines[at].tolist() for text, at in strange.items()}
        said = _strange_cells(lines, where, trace_below is not None)
        raise StrangeCells(said, np.sort(np.concatenate(list(strange.values()))), tuple(strange))
    values[missing] = np.nan
    return Numbers(values, missing, trace, mark)


def _one_cell(
    text: str, mark: str, trace_below: float | None, declared: set[str]
) -> tuple[float, bool] | None:
    """(value, is it a trace) of a cell, or None where it cannot be told."""
    word = text.lower()
    if word in MISSING_WORDS or word in declared:
        return np.nan, False
    if trace_below is not None:
        less = _LESS_THAN.fullmatch(word)
        if word in TRACE_WORDS or (less and float(less[1].replace(",", ".")) <= trace_below):
            return 0.0, True
    number = word.replace(",", ".") if mark == "," else word
    if _NUMBER.fullmatch(number):
        value = float(number)
        if abs(value) > LARGEST_NUMBER:
            return None
        return (np.nan, False) if value in MISSING_NUMBERS else (value, False)
    return None


def _strange_cells(strange: dict[str, list[int]], where: str, rain: bool) -> str:
    named = [f"'{text}' ({name_lines(lines, 3)})" for text, lines in list(strange.items())[:4]]
    more = f" and {len(strange) - 4} other texts" if len(strange) > 4 else ""
    traces = "T or <0.2 for a trace, " if rain else ""
    return (
        f"{where} holds {', '.join(named)}{more}: not a usable number; write numbers only, {traces}"
        f'blank or NA for a missing day, or list the mark in missing_marks = ["{next(iter(strange))[:20]}"]'
    )
