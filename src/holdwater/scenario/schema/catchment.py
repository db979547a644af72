"""What catches the water and holds it: roofs, tanks, links and the pumps between tanks."""

from __future__ import annotations

from typing import Annotated

from pydantic import Discriminator, Field, Tag

from holdwater.scenario.quantities import (
    Area,
    Base,
    Depth,
    Duration,
    Flow,
    Height,
    Level,
    Money,
    Share,
    Volume,
)
from holdwater.scenario.schema.part import Name, Part, Period, Season, one_or_each


class FirstFlush(Part):
    """The chamber that takes the first runoff; one of `volume` and `depth`."""

    volume: Volume | None = None
    """What the chamber holds."""
    depth: Depth | None = None
    """Or the depth of runoff it takes off the roof's plan area."""
    drains_in: Duration = 1.0
    """How long the full chamber takes to drip empty."""
    to: Name | None = None
    """Garden draw that what drips out waters; without it the water is lost."""


class Roof(Part):
    """A catchment surface; `area` is its plan (footprint) area."""

    name: Name
    """What you call it."""
    area: Area
    """Plan (footprint) area seen from above, not along the slope."""
    surface: str | None = None
    """What it is made of; sets the runoff coefficient from the table. Or give runoff_coefficient."""
    runoff_coefficient: Share | None = None
    """Share of the rain on the plan area that reaches the gutter in the long term."""
    wetting_loss: Depth = 0.0
    """Depth that wets the dry surface before any runs off; coefficients from the table already contain it."""
    first_flush: FirstFlush | None = None
    """Chamber that takes the first runoff after a dry spell."""
    filter_efficiency: Share = 1.0
    """Share of the runoff that passes the filter."""
    snow_lost: Share = 0.0
    """Share of the snow that slides or blows off the roof before it melts."""
    collects: Season | None = None
    """Season in which the gutter is connected; without it all year."""
    feeds: Annotated[
        Annotated[Name, Tag("<one>")] | Annotated[dict[Name, Share], Tag("<each>")],
        Discriminator(one_or_each),
    ]
    """The tank it feeds, or the share sent to each: { upper = 0.6, lower = 0.4 }."""
    cost: Money | None = None
    """Price of building it, in your own currency."""


class LevelVolume(Part):
    """One row of a tank's level-volume table, level above the tank's own base."""

    level: Height
    """Height of the water above the tank's own base."""
    volume: Volume
    """Water in the tank at that height."""


class Tank(Part):
    """Storage up to the overflow lip.

    An upright cylinder gives two of `capacity`, `diameter` and `overflow` (height of the lip
    above its own base); any other shape gives `levels`, from its floor to its lip.
    """

    name: Name
    """What you call it."""
    capacity: Volume | None = None
    """Volume up to the overflow lip."""
    diameter: Height | None = None
    """Inside diameter of an upright cylinder."""
    overflow: Height | None = None
    """Height of the overflow lip above the tank's own base."""
    levels: list[LevelVolume] | None = None
    """Shape of a tank that is no upright cylinder: volume by level, from the floor (0) to the lip."""
    base: Base = 0.0
    """Height of the tank's pad above a common datum; matters where tanks are linked."""
    outlet: Height = 0.0
    """Height of the outlet above the tank's own base; water below it cannot be drawn. A link joins the tanks at
    their outlets, so what stands below an outlet stays in its tank."""
    overflow_to: Name = "ground"
    """Where the overflow goes: "ground" or the name of another tank. Linked tanks spill over the lowest lip of them,
    so only the overflow_to of that tank acts."""
    leak: Flow = 0.0
    """What it loses while there is water in it."""
    evaporation_factor: Annotated[float, Field(ge=0, le=3)] = 0.0
    """Evaporation of an open tank as a multiple of ET0, about 1; 0 for a covered tank. Rain that falls on an open
    tank is not counted: write its surface as a roof with runoff_coefficient = 1."""
    cost: Money | None = None
    """Price of the tank, in your own currency."""


class Link(Part):
    """Tanks joined at their outlets: one water surface above them while the valve is open.

    They spill over the lowest lip of them all, and what stands below a tank's outlet stays in that tank.
    """

    tanks: Annotated[list[Name], Field(min_length=2)]
    """Names of all tanks joined."""
    closed: list[Period] = Field([])
    """Periods in which the valve is shut, in order."""


class Transfer(Part):
    """A pump that lifts water from one tank to another."""

    name: Name
    """What you call it."""
    from_tank: Name
    """Tank it takes from."""
    to_tank: Name
    """Tank it lifts to."""
    starts_below: Level
    """It runs on days on which `to_tank` stands below this level."""
    per_day: Flow
    """What it lifts in a day at most."""
