"""Where the holding stands, its daily record and how to read it, and how snow behaves."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from holdwater.scenario.quantities import Altitude, Depth, Temperature
from holdwater.scenario.schema.part import Part


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
    missing_marks: list[str] = Field([])
    """Further texts that mean a missing day, beside blank, NA, M and -9999."""
    same_day: Literal["refuse", "add", "last"] = "refuse"
    """What to do with two different readings of one day: parts of its rain, or a correction."""
    readings: Literal["daily", "cumulative"] = "daily"
    """What a reading is: the rain of its day, or a counter that adds up until it is reset."""
    absent_days: Literal["missing", "dry"] = "missing"
    """What a day that is not in the file at all means; "dry" for a log of rainy days only."""
    monthly_et0: Annotated[list[Depth], Field(min_length=12, max_length=12)] | None = None
    """Mean reference evapotranspiration of a day, January to December, where the record has no temperatures."""
    accept: list[str] = Field([])
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
