"""Sums of money as a person writes them; no currency is kept, it is the owner's own throughout."""

from __future__ import annotations

import math
import re

from holdwater.errors import InputError
from holdwater.units.showing import quoted

CURRENCY = r"[$€£¥]|(?:dollar|euro)s?\b|pounds?\b|(?:USD|EUR|GBP|CAD|AUD|NZD|CHF|ZAR)\b"
_SUM = re.compile(
    rf"(?:{CURRENCY})? ?([-+]?)(?:{CURRENCY})? ?((?:[1-9]\d{{0,2}}(?:,\d{{3}})+|\d+)(?:\.\d*)?|\.\d+) ?(?:{CURRENCY})?",
    re.ASCII | re.IGNORECASE,
)
_LARGEST = 1e15
_HOW = 'write 140 or "$140"'


def read_money(text: object) -> float:
    """Read a sum of money: 140, "$140", "1,140 dollars" [currency of the owner].

    Parameters
    ----------
    text : object
        A number, or text with or without a currency; the currency is not kept.

    Raises
    ------
    InputError
        It is no sum of money, or less than nothing.
    """
    if isinstance(text, str):
        found = _SUM.fullmatch(" ".join(text.split()))
        value = float(found[1] + found[2].replace(",", "")) if found else math.nan
    elif isinstance(text, int | float) and not isinstance(text, bool):
        value = float(max(min(text, _LARGEST), -1.0))  # a whole number may be too long for a float
    else:
        value = math.nan
    if math.isnan(value):
        raise InputError(f"{quoted(text)}: not a sum of money; {_HOW}")
    if not 0 <= value < _LARGEST:
        raise InputError(
            f"{quoted(text)}: a price {'cannot be negative' if value < 0 else 'so large is not meant'}"
        )
    return value
