"""Every use of water: household, livestock, garden, or a fixed amount."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Strict

from holdwater.scenario.quantities import Area, DateOrMonthDay, Flow, Height, Level, MonthDay, Share
from holdwater.scenario.schema.part import Factors, Name, Part, Period, Season, Whole


class DrawBase(Part):
    """What every use of water has in common."""

    name: Name
    """What you call it."""
    from_tanks: list[Name] | None = None
    """Tanks it takes from, in this order; without it all tanks. Of linked tanks it reaches what stands above the
    lowest outlet it names."""
    priority: Annotated[int, Field(ge=1)] | None = None
    """1 is served first; without it by place in the file."""
    season: Season | None = None
    """Part of the year in which it is used; without it all year."""
    monthly_factor: Factors | None = None
    """Twelve factors, January to December, on the amount of the day."""
    stops_below: Level | None = None
    """It asks for nothing while its tanks stand below this level."""
    may_use_reserve: bool = False
    """Whether it may take the reserve."""


class Guests(Part):
    """More people at the table, both days included; with a year once, without a year every year."""

    from_: Annotated[DateOrMonthDay, Field(alias="from")]
    to: DateOrMonthDay
    people: Annotated[float, Field(ge=0)]
    """How many more persons."""


class MoreHead(Part):
    """More animals for a while, both days included; with a year once, without a year every year."""

    from_: Annotated[DateOrMonthDay, Field(alias="from")]
    to: DateOrMonthDay
    animals: dict[str, Annotated[float, Field(ge=0)]]
    """Head of each animal, by its name in the table."""


class SavingStep(Part):
    """What one person makes do with while the tanks stand below a level: less than per_person, or it saves nothing."""

    below: Level
    per_person: Flow


class Household(DrawBase):
    """People times litres per person and day, less the days away."""

    kind: Literal["household"]
    people: Annotated[float, Field(ge=0)]
    """How many persons; a half for half the time is fine."""
    per_person: Flow | None = None
    """What one person uses in a day. Or give fixtures."""
    fixtures: dict[str, Annotated[float, Field(ge=0)]] | None = None
    """Use of each fixture as a multiple of an average house's: { toilet = 0, shower = 0.6 }."""
    away: list[Period] = Field([])
    """Periods with nobody at home, in order."""
    guests: list[Guests] = Field([])
    """More people for a while, by date or every year."""
    steps: list[SavingStep] = Field([])
    """Saving steps: what one person uses while the tanks stand below a level."""


class Livestock(DrawBase):
    """Head by kind of animal, litres per head from the table."""

    kind: Literal["livestock"]
    animals: dict[str, Annotated[float, Field(ge=0)]]
    """Head of each animal, by its name in the table: { "doe, dry" = 8, "hen, laying" = 20 }."""
    also: list[MoreHead] = Field([])
    """Animals that are there for a while only: from hatch to sale, by date or every year."""


class Fixed(DrawBase):
    """The same amount every day, or one per month."""

    kind: Literal["fixed"]
    per_day: Flow | None = None
    """What it uses every day."""
    monthly: Annotated[list[Flow], Field(min_length=12, max_length=12)] | None = None
    """Or twelve amounts per day, January to December."""


class Garden(DrawBase):
    """A bed with a soil: it asks for water when its root zone is dry (FAO-56)."""

    kind: Literal["garden"]
    area: Area
    """Planted area."""
    crop: str
    """Name in the table of crops: "tomato"; `holdwater tables crops` lists them."""
    planted: MonthDay | None = None
    """Day of every year on which it is planted or wakes; a ground cover needs none."""
    soil: str
    """Name in the table of soils: "sandy loam"."""
    method: str = "drip"
    """How it is watered: "drip", "sprinkler" or "surface"; sets the efficiency."""
    efficiency: Annotated[float, Field(gt=0, le=1)] | None = None
    """Share of the water applied that reaches the roots, in place of the method's."""
    trigger: Share | None = None
    """Share of the available water used up at which watering starts; without it the crop's own."""
    refill_to: Share = 1.0
    """Share of the available water present after watering; 1 fills the root zone."""
    mulch: Share = 0.0
    """Share of the soil under organic mulch."""
    rain_fed: bool = False
    """Never watered: lives on rain alone."""
    root_depth: Height | None = None
    """Depth of the roots, in place of the table's."""
    stages: Annotated[tuple[Whole, Whole, Whole, Whole], Strict(False)] | None = None  # a list in the file
    """Days of the initial, development, mid and late stage, in place of the table's."""


Draw = Annotated[Household | Livestock | Garden | Fixed, Field(discriminator="kind")]
