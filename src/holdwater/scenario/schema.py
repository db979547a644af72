"""What the owner wrote: every key of the scenario file, its unit and its default.

Inside a checked scenario every quantity is a bare number in litres, millimetres, square metres,
litres per day, degrees Celsius or days; the reading of "2500 gal" happens in `quantities`. The text
under each key is what editors show; it goes into the JSON Schema.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Strict,
    StringConstraints,
    Tag,
)

from holdwater.scenario.quantities import (
    Altitude,
    Area,
    Base,
    Date,
    DateOrMonthDay,
    Depth,
    Duration,
    Flow,
    Height,
    Level,
    MonthDay,
    Price,
    Printable,
    Share,
    Temperature,
    Volume,
)

Name = Annotated[str, StringConstraints(min_length=1, max_length=60, strip_whitespace=True), Printable]
Whole = Annotated[int, Field(ge=0)]
Money = Annotated[float, Field(ge=0)]
Factors = Annotated[list[Annotated[float, Field(ge=0)]], Field(min_length=12, max_length=12)]


def _one_or_each(value: object) -> str:
    return "<each>" if isinstance(value, dict) else "<one>"


class Part(BaseModel):
    """Base of every table of the file: no unknown key, and nothing changes after checking."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, populate_by_name=True, allow_inf_nan=False
    )


class Place(Part):
    """Where the holding stands."""

    latitude: Annotated[float, Field(ge=-90, le=90)]
    """Degrees north of the equator; south is negative."""
    longitude: Annotated[float, Field(ge=-180, le=180)]
    """Degrees east of Greenwich; west is negative, as in all of the Americas."""
    elevation: Altitude | None = None
    """Height above sea level."""


class WeatherFile(Part):
    """A file with a daily record and how to read it."""

    file: Annotated[str, Field(min_length=1)] = ""
    """The daily record, beside the scenario file or with its path. Or give station."""
    format: (
        Literal["csv", "ghcn-dly", "ghcn-csv", "noaa-daily", "noaa-order", "australia", "canada", "netcdf"]
        | None
    ) = None
    """File format, where it is not recognised by its content."""
    station: str | None = None
    """Which station of the file, where it holds several; without a file, the id of a Meteostat station."""
    date_column: str | None = None
    """Header of the column of dates, where it does not say so itself."""
    rain_column: str | None = None
    """Header of the column of rain, where it does not say so itself."""
    t_min_column: str | None = None
    """Header of the column of the day's lowest temperature."""
    t_max_column: str | None = None
    """Header of the column of the day's highest temperature."""
    et0_column: str | None = None
    """Header of the column of reference evapotranspiration."""
    rain_unit: Literal["mm", "in", "tenths of mm"] | None = None
    """Unit of the rain column, where its header does not name it."""
    temperature_unit: Literal["degC", "degF", "tenths of degC"] | None = None
    """Unit of the temperature columns, where their headers do not name it."""
    dates: Literal["ymd", "mdy", "dmy"] | None = None
    """Order of year, month and day where the dates are not written 1996-01-31."""
    decimal: Literal[".", ","] | None = None
    """Decimal mark of the file."""
    separator: str | None = None
    """What stands between two columns of the file."""
    encoding: str | None = None
    """Encoding of the file where it is not UTF-8, such as "latin-1"."""
    day_ends: str | None = None
    """Hour at which the gauge is read, when it is not midnight."""
    missing_marks: list[str] = []
    """Further texts that mean a missing day, beside blank, NA, M and -9999."""
    same_day: Literal["refuse", "add", "last"] = "refuse"
    """What to do with two different readings of one day: parts of its rain, or a correction."""
    readings: Literal["daily", "cumulative"] = "daily"
    """What a reading is: the rain of its day, or a counter that adds up until it is reset."""
    absent_days: Literal["missing", "dry"] = "missing"
    """What a day that is not in the file at all means; "dry" for a log of rainy days only."""
    monthly_et0: Annotated[list[Depth], Field(min_length=12, max_length=12)] | None = None
    """Mean reference evapotranspiration of a day, January to December, where the record has no temperatures."""
    accept: list[str] = []
    """Suspicious values that you have looked at and want to keep."""
    licence: str | None = None
    """Licence of the record, to be named with the results."""


def _file_alone(value: Any) -> Any:
    return {"file": value} if isinstance(value, str) else value


class Weather(WeatherFile):
    """Where the daily record comes from, how to read it, and what fills its gaps."""

    near: bool = False
    """true: the nearest Meteostat station whose rain record covers the run; needs [place]."""
    missing_days: Literal["refuse", "zero", "neighbour", "climate"] = "refuse"
    """What to do with a day without a reading; it is never taken for a dry day by accident."""
    neighbour: Annotated[
        WeatherFile | None, BeforeValidator(_file_alone, json_schema_input_type=str | WeatherFile | None)
    ] = None
    """Record of the nearest good station: its file, or a table with the keys that read it."""
    diary: Annotated[
        WeatherFile | None, BeforeValidator(_file_alone, json_schema_input_type=str | WeatherFile | None)
    ] = None
    """Your own gauge log, for the days the record does not have yet: its file, or a table with the keys that
    read it."""
    change: Annotated[str, Field(min_length=1)] | None = None
    """Run it through other weather on purpose: "rain x 0.9 in summer, +2 degC"."""


class Snow(Part):
    """How precipitation turns to snow and melts; needs temperatures in the record."""

    all_snow_at: Temperature = -1.0
    """Mean temperature of the day at or below which all of it is snow."""
    all_rain_at: Temperature = 3.0
    """Mean temperature at or above which all of it is rain."""
    melt_per_degree: Depth = 3.0
    """Melt in a day for each degree Celsius above freezing."""


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
        Discriminator(_one_or_each),
    ] = 0.5
    """How full the tanks are on the first morning: one share for all, or one per tank."""
    year_starts: Annotated[int, Field(ge=1, le=12)] = 1
    """Month in which a year of the tables starts: 1 for calendar years, 10 for water years."""


class Season(Part):
    """A part of every year, both days included; it may cross the year end."""

    from_: Annotated[MonthDay, Field(alias="from")]
    to: MonthDay


class Period(Part):
    """Calendar days, both included."""

    from_: Annotated[Date, Field(alias="from")]
    to: Date


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
        Discriminator(_one_or_each),
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
    """Height of the outlet above the tank's own base; water below it cannot be drawn."""
    overflow_to: Name = "ground"
    """Where the overflow goes: "ground" or the name of another tank."""
    leak: Flow = 0.0
    """What it loses while there is water in it."""
    evaporation_factor: Annotated[float, Field(ge=0, le=3)] = 0.0
    """Evaporation of an open tank as a multiple of ET0, about 1; 0 for a covered tank."""
    cost: Money | None = None
    """Price of the tank, in your own currency."""


class Link(Part):
    """Tanks joined at the bottom: one water surface while the valve is open."""

    tanks: Annotated[list[Name], Field(min_length=2)]
    """Names of all tanks joined."""
    closed: list[Period] = []
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


class DrawBase(Part):
    """What every use of water has in common."""

    name: Name
    """What you call it."""
    from_tanks: list[Name] | None = None
    """Tanks it takes from, in this order; without it all tanks."""
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
    """What one person makes do with while the tanks stand below a level."""

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
    away: list[Period] = []
    """Periods with nobody at home, in order."""
    guests: list[Guests] = []
    """More people for a while, by date or every year."""
    steps: list[SavingStep] = []
    """Saving steps: what one person uses while the tanks stand below a level."""


class Livestock(DrawBase):
    """Head by kind of animal, litres per head from the table."""

    kind: Literal["livestock"]
    animals: dict[str, Annotated[float, Field(ge=0)]]
    """Head of each animal, by its name in the table: { "doe, dry" = 8, "hen, laying" = 20 }."""
    also: list[MoreHead] = []
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


class Reserve(Part):
    """Volume no ordinary draw may touch, spread over `in_tanks` in proportion to what they can give."""

    volume: Volume
    """How much is kept."""
    in_tanks: list[Name] | None = None
    """Tanks that keep it; without it all tanks."""


class BackupBase(Part):
    """What every backup has in common."""

    name: Name
    """What you call it."""
    per_day: Flow | None = None
    """The most it can give in a day; without it there is no limit."""
    cost_per_volume: Price | None = None
    """Price of its water, in your own currency."""


class Direct(BackupBase):
    """Serves the shortfall of the draws it names, up to `per_day`."""

    kind: Literal["direct"]
    serves: list[Name] | None = None
    """Draws it serves; without it all of them."""


class Refill(BackupBase):
    """Tops a tank up to `fills_to` when it stands below `starts_below`, or brings loads."""

    kind: Literal["refill"]
    into: Name | None = None
    """Tank it fills; without it the first tank of the file."""
    starts_below: Level
    """It is called when the tank stands below this level."""
    fills_to: Level | None = None
    """Level up to which it fills."""
    load: Volume | None = None
    """Size of one load, for a hauler."""
    cost_per_load: Money | None = None
    """Price of one load, in your own currency."""
    lead_days: Annotated[int, Field(ge=0, le=60)] = 0
    """Days from calling to the water coming."""


Backup = Annotated[Direct | Refill, Field(discriminator="kind")]


class Heading(Part):
    """What stands in the file beside its tables."""

    title: Annotated[str, Field(min_length=1, max_length=200), Printable]
    """One line that names the holding; it heads every output."""
    show_units: Literal["us", "metric"] = "us"
    """Units of the results: "us" (gal, in, ft2) or "metric" (L, mm, m2)."""
    variant: dict[Name, dict[str, Any]] = {}
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
    link: list[Link] = []
    """Each set of tanks joined at the bottom as a [[link]]."""
    transfer: list[Transfer] = []
    """Each pump from tank to tank as a [[transfer]]."""
    draw: Annotated[list[Draw], Field(min_length=1)]
    """Each use of water as a [[draw]]."""
    reserve: Reserve | None = None
    backup: list[Backup] = []
    """Each well, mains or hauler as a [[backup]]."""
    site: dict[str, Any] = {}
    """Pipes, pump, storm and ground; only the site checks read this table."""
