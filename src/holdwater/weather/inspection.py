"""What a weather file is and holds, before anyone plans on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from holdwater.errors import InputError
from holdwater.weather import gaps, indices
from holdwater.weather.checks.plausibility import Finding, examine
from holdwater.weather.cures import placed, placing
from holdwater.weather.formats.recognise import read_file
from holdwater.weather.formats.textfile import locate
from holdwater.weather.reader import to_record
from holdwater.weather.reading import Mask, Reading, lay_out
from holdwater.weather.record import Origin, Record

if TYPE_CHECKING:
    from holdwater.scenario.schema import Place, WeatherFile


ROWS = "rows"
"""Name of a finding about rows that cannot be used; nothing accepts it."""
OF_DAYS = ("negative", "above-record", "fill-value")
"""Findings whose days have rain that cannot be."""
STRETCHES = ("longest_gap", "longest_dry", "longest_rainless", "longest_wet")


@dataclass(frozen=True)
class Stretch:
    """A run of days, both ends included."""

    first: str
    last: str
    days: int


@dataclass(frozen=True)
class Inspection:
    """The findings about one weather file.

    Attributes
    ----------
    format, form : str
        The file format, as `format` takes it and in words.
    missing : int
        Days without a rain value between the first and the last; `missing_by_year` lists them.
    longest_gap, longest_dry, longest_rainless, longest_wet : Stretch or None
        Longest runs of missing days, of days below 1 mm, of days with none at all, and of days
        with 1 mm or more, over the whole record (they may cross the year's end).
    missing_dates : list of str
        Every one of the missing days.
    columns : list of (str, str)
        Every column of a table and what it was used as, "not used" included.
    findings : tuple of Finding
        What does not look like daily rain, and rows that cannot be used.
    years : list of YearIndices
        Totals and indices by calendar year.
    origins : dict of str to int
        Days by origin.
    mean_year : float or None
        Mean of the complete calendar years [mm].
    record : Record
        The record with its gaps open (rain is NaN there), for charts and `convert`.
    """

    source: str
    format: str
    form: str
    units_as_read: str
    station: str
    place: str
    licence: str
    day_ends: str
    first: str
    last: str
    days: int
    missing: int
    missing_by_year: dict[int, int]
    missing_dates: list[str]
    columns: list[tuple[str, str]]
    longest_gap: Stretch | None
    longest_dry: Stretch | None
    longest_rainless: Stretch | None
    longest_wet: Stretch | None
    wettest: float
    wettest_on: str
    mean_year: float | None
    years: list[indices.YearIndices]
    origins: dict[str, int]
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]
    record: Record

    def summary(self) -> dict[str, Any]:
        """All of it but the record, in plain values that JSON knows."""
        told = {name: value for name, value in vars(self).items() if name != "record"}
        told |= {n: None if told[n] is None else asdict(told[n]) for n in STRETCHES}
        told["years"] = [{**asdict(year), "complete": year.complete} for year in self.years]
        told["findings"] = [asdict(finding) for finding in self.findings]
        return told


def inspect(path: Path | str, weather: WeatherFile | None = None, place: Place | None = None) -> Inspection:
    """Read a weather file and tell what it is and holds; nothing is filled, nothing is judged away.

    Parameters
    ----------
    path : Path or str
        The file.
    weather : WeatherFile or None
        Keys that read it (column, unit, format, ...); None takes everything from the file.
    place : Place or None
        Where the holding stands; a grid needs it.

    Raises
    ------
    InputError
        The file cannot be read.
    """
    from holdwater.scenario.schema import WeatherFile as Keys

    path = Path(path)
    keys = weather or Keys(file=str(path))
    with placing():
        found = locate(str(path), Path())
        name, rows = read_file(found, keys, place)
        daily = lay_out(rows, keys)
    rain = daily.rain
    known = daily.origin != Origin.MISSING
    if not known.any():
        raise InputError(f"weather file '{daily.source}' holds no rain value")
    top = int(np.nanargmax(rain))
    years = indices.by_year(daily.days, rain)
    whole = [y.total for y in years if y.complete and y.total is not None]
    findings = (*_of_rows(daily), *(replace(f, cure=placed(f.cure)) for f in examine(daily)))
    counts = np.bincount(daily.origin, minlength=len(Origin))

    def stretch(mask: Mask) -> Stretch | None:
        start, length = indices.longest_run(mask)
        if not length:
            return None
        return Stretch(str(daily.days[start]), str(daily.days[start + length - 1]), length)

    return Inspection(
        source=daily.source,
        format=name,
        form=daily.form,
        units_as_read=daily.units_as_read,
        station=daily.station,
        place=daily.place,
        licence=daily.licence,
        day_ends=daily.day_ends,
        first=str(daily.days[0]),
        last=str(daily.days[-1]),
        days=len(daily.days),
        missing=int((~known).sum()),
        missing_by_year=gaps.missing_by_year(daily),
        missing_dates=[str(day) for day in daily.days[~known]],
        columns=list(daily.columns),
        longest_gap=stretch(~known),
        longest_dry=stretch(indices.dry(rain)),
        longest_rainless=stretch(rain == 0),
        longest_wet=stretch(indices.wet(rain)),
        wettest=float(rain[top]),
        wettest_on=str(daily.days[top]),
        mean_year=float(np.mean(whole)) if whole else None,
        years=years,
        origins={o.label: int(counts[o]) for o in Origin if counts[o]},
        findings=findings,
        notes=(*_of_columns(daily), *daily.notes, *_of_gaps(daily, keys)),
        record=_marked(to_record(daily), findings),
    )


def _of_rows(daily: Reading) -> list[Finding]:
    """The rows that cannot be used, as findings."""
    found = []
    for fault in daily.faults:
        what, _, cure = fault.partition("; ")
        found.append(Finding(ROWS, True, what, placed(cure)))
    return found


def _of_columns(daily: Reading) -> list[str]:
    """What each column was used as."""
    told = "; ".join(f"'{name}' is {use}" for name, use in daily.columns)
    return [f"of the columns {told}"] if told else []


def _of_gaps(daily: Reading, keys: WeatherFile) -> list[str]:
    """The missing days by their dates, and what may be done with them."""
    missing = daily.origin == Origin.MISSING
    if not missing.any():
        return []
    said = f"without a rain value: {gaps.dates(daily.days, missing)}. No run goes past them"
    absent = (
        '; if the log lists rainy days only, say absent_days = "dry"' if keys.absent_days != "dry" else ""
    )
    return [placed(f"{said}: complete the file, or choose {gaps.CHOICES}{absent}")]


def _marked(record: Record, findings: Sequence[Finding]) -> Record:
    """The record with the days marked whose rain cannot be."""
    days = sorted({day for f in findings if f.name in OF_DAYS for day in f.days})
    return Record(record.data, replace(record.provenance, doubtful=tuple(days)))
