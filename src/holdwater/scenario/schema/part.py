"""What every table of the file is, and what many of them hold: names, sums of money, seasons, periods."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from holdwater.scenario.quantities import Date, MonthDay, Printable

Name = Annotated[str, StringConstraints(min_length=1, max_length=60, strip_whitespace=True), Printable]
Whole = Annotated[int, Field(ge=0)]
Factors = Annotated[list[Annotated[float, Field(ge=0)]], Field(min_length=12, max_length=12)]


def one_or_each(value: object) -> str:
    """Which of two ways a key is written in: one value for all, or a table with one for each name."""
    return "<each>" if isinstance(value, dict) else "<one>"


class Part(BaseModel):
    """Base of every table of the file: no unknown key, and nothing changes after checking."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, populate_by_name=True, allow_inf_nan=False
    )


class Season(Part):
    """A part of every year, both days included; it may cross the year end. To the end of February is to "02-29"."""

    from_: Annotated[MonthDay, Field(alias="from")]
    to: MonthDay


class Period(Part):
    """Calendar days, both included."""

    from_: Annotated[Date, Field(alias="from")]
    to: Date
