"""The whole file: its heading, the days and the rule of the run, and every table by its key."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from holdwater.scenario.quantities import Date, Printable, Share
from holdwater.scenario.schema.backup import Backup, Reserve
from holdwater.scenario.schema.catchment import Link, Roof, Tank, Transfer
from holdwater.scenario.schema.draws import Draw
from holdwater.scenario.schema.part import Name, Part, one_or_each
from holdwater.scenario.schema.weather import Place, Snow, Weather


class Run(Part):
    """Which days, which operating rule, from which storage."""

    from_: Annotated[Date | None, Field(alias="from")] = None
    """First day of the run; without it the first day of the record."""
    to: Date | None = None
    """Last day of the run; without it the last day of the record."""
    rule: Literal["YAS", "YBS"] = "YAS"
    """YAS: draw before the day's rain comes in (careful). YBS: draw after it."""
    start_full: Annotated[
        Annotated[Share, Tag("<one>")] | Annotated[dict[Name, Share], Tag("<each>")],
        Discriminator(one_or_each),
    ] = 0.5
    """How full the tanks are on the first morning: one share for all, or one per tank."""
    year_starts: Annotated[int, Field(ge=1, le=12)] = 1
    """Month in which a year of the tables starts: 1 for calendar years, 10 for water years."""


class Heading(Part):
    """What stands in the file beside its tables."""

    title: Annotated[str, Field(min_length=1, max_length=200), Printable]
    """One line that names the holding; it heads every output."""
    show_units: Literal["us", "metric"] = "us"
    """Units of the results: "us" (gal, in, ft2) or "metric" (L, mm, m2)."""
    variant: dict[Name, dict[str, Any]] = Field({})
    """Named what-ifs: dotted paths into the scenario and the new values."""


class Scenario(Heading):
    """The whole holding: one file."""

    place: Place | None = None
    weather: Weather
    run: Run = Run()
    snow: Snow = Snow()
    roof: Annotated[list[Roof], Field(min_length=1)]
    """Each roof as a [[roof]]."""
    tank: Annotated[list[Tank], Field(min_length=1)]
    """Each tank as a [[tank]]."""
    link: list[Link] = Field([])
    """Each set of tanks joined at the bottom as a [[link]]."""
    transfer: list[Transfer] = Field([])
    """Each pump from tank to tank as a [[transfer]]."""
    draw: Annotated[list[Draw], Field(min_length=1)]
    """Each use of water as a [[draw]]."""
    reserve: Reserve | None = None
    backup: list[Backup] = Field([])
    """Each well, mains or hauler as a [[backup]]."""
    site: dict[str, Any] = Field({})
    """Pipes, pump, storm and ground; only the site checks read this table."""
