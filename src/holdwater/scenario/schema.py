"""What the owner wrote: every key of the scenario file, its unit and its default.

Inside a checked scenario every quantity is a bare number in litres, millimetres, square metres,
litres per day, degrees Celsius or days; the reading of "2500 gal" happens in `quantities`.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from holdwater.scenario.quantities import (
    Altitude,
    Area,
    Depth,
    Duration,
    Flow,
    Height,
    Level,
    MonthDay,
    Price,
    Share,
    Volume,
)

Name = Annotated[str, Field(min_length=1, max_length=60)]
Money = Annotated[float, Field(ge=0)]


class Part(BaseModel):
    """Base of every table of the file: no unknown key, and nothing changes after checking."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True, allow_inf_nan=False)


class Place(Part):
    """Where the holding stands."""

    latitude: Annotated[float, Field(ge=-90, le=90)]
    longitude: Annotated[float, Field(ge=-180, le=180)]
    elevation: Altitude | None = None


class Weather(Part):
    """Where the daily record comes from and how to read it."""

    file: str
    date_column: str | None = None
    rain_column: str | None = None
    t_min_column: str | None = None
    t_max_column: str | None = None
    et0_column: str | None = None
    rain_unit: Literal["mm", "in", "tenths of mm"] | None = None
    temperature_unit: Literal["degC", "degF", "tenths of degC"] | None = None
    dates: Literal["ymd", "mdy", "dmy"] | None = None
    decimal: Literal[".", ","] | None = None
    separator: str | None = None
    day_ends: str | None = None
    missing_days: Literal["refuse", "zero", "neighbour", "climate"] = "refuse"
    absent_days: Literal["missing", "dry"] = "missing"
    accept: list[str] = []
    licence: str | None = None


class Run(Part):
    """Which days, which operating rule, from which storage."""

    from_: Annotated[dt.date | None, Field(alias="from")] = None
    to: dt.date | None = None
    rule: Literal["YAS", "YBS"] = "YAS"
    start_full: Share | dict[Name, Share] = 0.5
    year_starts: Annotated[int, Field(ge=1, le=12)] = 1


class Season(Part):
    """A part of every year, both days included; it may cross the year end."""

    from_: Annotated[MonthDay, Field(alias="from")]
    to: MonthDay


class Period(Part):
    """Calendar days, both included."""

    from_: Annotated[dt.date, Field(alias="from")]
    to: dt.date


class FirstFlush(Part):
    """The chamber that takes the first runoff; one of `volume` and `depth`."""

    volume: Volume | None = None
    depth: Depth | None = None
    drains_in: Duration = 1.0


class Roof(Part):
    """A catchment surface; `area` is its plan (footprint) area."""

    name: Name
    area: Area
    surface: str | None = None
    runoff_coefficient: Share | None = None
    wetting_loss: Depth = 0.0
    first_flush: FirstFlush | None = None
    filter_efficiency: Share = 1.0
    collects: Season | None = None
    feeds: Name | dict[Name, Share]
    cost: Money | None = None


class LevelVolume(Part):
    """One row of a tank's level-volume table, level above the tank's own base."""

    level: Height
    volume: Volume


class Tank(Part):
    """Storage up to the overflow lip.

    An upright cylinder gives two of `capacity`, `diameter` and `overflow` (height of the lip
    above its own base); any other shape gives `levels`, from its floor to its lip.
    """

    name: Name
    capacity: Volume | None = None
    diameter: Height | None = None
    overflow: Height | None = None
    levels: list[LevelVolume] | None = None
    base: Height = 0.0
    outlet: Height = 0.0
    overflow_to: Name = "ground"
    leak: Flow = 0.0
    cost: Money | None = None


class Link(Part):
    """Tanks joined at the bottom; `closed` lists the periods in which the valve is shut."""

    tanks: Annotated[list[Name], Field(min_length=2)]
    closed: list[Period] = []


class Transfer(Part):
    """A pump that lifts water from one tank to another."""

    name: Name
    from_tank: Name
    to_tank: Name
    starts_below: Level
    per_day: Flow


class DrawBase(Part):
    """What every use of water has in common."""

    name: Name
    from_tanks: list[Name] | None = None
    priority: Annotated[int, Field(ge=1)] | None = None
    season: Season | None = None
    monthly_factor: Annotated[list[Annotated[float, Field(ge=0)]], Field(min_length=12, max_length=12)] | None = (
        None
    )
    stops_below: Level | None = None
    may_use_reserve: bool = False


class Household(DrawBase):
    """People times litres per person and day, less the days away."""

    kind: Literal["household"]
    people: Annotated[float, Field(ge=0)]
    per_person: Flow
    away: list[Period] = []


class Livestock(DrawBase):
    """Head by kind of animal, litres per head from the table."""

    kind: Literal["livestock"]
    animals: dict[str, Annotated[float, Field(ge=0)]]


class Fixed(DrawBase):
    """The same amount every day, or one per month."""

    kind: Literal["fixed"]
    per_day: Flow | None = None
    monthly: Annotated[list[Flow], Field(min_length=12, max_length=12)] | None = None


Draw = Annotated[Household | Livestock | Fixed, Field(discriminator="kind")]


class Reserve(Part):
    """Volume no ordinary draw may touch, spread over `in_tanks` in proportion to their capacity."""

    volume: Volume
    in_tanks: list[Name] | None = None


class BackupBase(Part):
    """What every backup has in common."""

    name: Name
    per_day: Flow | None = None
    cost_per_volume: Price | None = None


class Direct(BackupBase):
    """Serves the shortfall of the draws it names, up to `per_day`."""

    kind: Literal["direct"]
    serves: list[Name] | None = None


class Refill(BackupBase):
    """Tops a tank up to `fills_to` when it stands below `starts_below`, or brings loads."""

    kind: Literal["refill"]
    into: Name | None = None
    starts_below: Level
    fills_to: Level | None = None
    load: Volume | None = None
    cost_per_load: Money | None = None
    lead_days: Annotated[int, Field(ge=0, le=60)] = 0


Backup = Annotated[Direct | Refill, Field(discriminator="kind")]


class Scenario(Part):
    """The whole holding: one file."""

    title: Annotated[str, Field(min_length=1, max_length=200)]
    show_units: Literal["us", "metric"] = "us"
    place: Place | None = None
    weather: Weather
    run: Run = Run()
    roof: Annotated[list[Roof], Field(min_length=1)]
    tank: Annotated[list[Tank], Field(min_length=1)]
    link: list[Link] = []
    transfer: list[Transfer] = []
    draw: Annotated[list[Draw], Field(min_length=1)]
    reserve: Reserve | None = None
    backup: list[Backup] = []
    variant: dict[Name, dict[str, Any]] = {}
