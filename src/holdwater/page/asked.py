"""What the page asks: one design, the days to run and to show, and what to call it."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Span = tuple[dt.date, dt.date]
Price = Annotated[float, Field(ge=0.0, le=1e9)]


class Asked(BaseModel):
    """One design, as the page sends it.

    Attributes
    ----------
    variant : str or None
        The variant of the file it starts from.
    values : dict
        Where the dials stand, by path [shown unit].
    prices : dict
        The user's own prices of one more unit, by path [currency of the file].
    rule : str or None
        Operating rule; the file's without it.
    first, last : date or None
        Days to run; the file's without them.
    window : (date, date) or None
        Days to show in the chart; all without it.
    name : str
        What to call it when it is kept.
    """

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

    variant: str | None = Field(default=None, max_length=200)
    values: dict[str, float] = Field(default={}, max_length=400)
    prices: dict[str, Price] = Field(default={}, max_length=400)
    rule: Literal["YAS", "YBS"] | None = None
    first: dt.date | None = None
    last: dt.date | None = None
    window: Span | None = None
    name: str = Field(default="", max_length=20_000)
