"""From a file to checked days, and from checked days to the complete record every run starts from."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from holdwater.errors import InputError
from holdwater.weather import gaps, neighbour
from holdwater.weather.checks import plausibility
from holdwater.weather.formats.recognise import read_file
from holdwater.weather.formats.textfile import locate
from holdwater.weather.reading import Mask, Reading, lay_out
from holdwater.weather.record import FILLED, Origin, Provenance, Record, daily_dataset

if TYPE_CHECKING:
    from holdwater.scenario.schema import Place, Weather, WeatherFile


def read_checked(weather: WeatherFile, folder: Path, place: Place | None = None) -> Reading:
    """Read the file and pass it through the plausibility gate; gaps are left open.

    Raises
    ------
    NotPlausible
        With all that stops a run but the gaps, and the days as far as they could be read.
    InputError
        The file leaves no days to look at.
    """
    _, reading = read_file(locate(weather.file, folder), weather, place)
    daily = lay_out(reading, weather)
    faults, notes = list(daily.faults), []
    try:
        notes = plausibility.gate(plausibility.examine(daily), daily.source, weather.accept)
    except InputError as fault:
        faults += fault.faults
    if faults:
        raise NotPlausible(faults, daily)
    return drop_impossible(daily).noting(*notes)


class NotPlausible(InputError):
    """What stops a run, with the days as far as they could be read, so that gaps can be told with it.

    Attributes
    ----------
    daily : Reading
        On consecutive days.
    """

    def __init__(self, faults: list[str], daily: Reading) -> None:
        super().__init__(faults)
        self.daily = daily


def open_days(daily: Reading, weather: Weather, first: dt.date | None, last: dt.date | None) -> list[str]:
    """What the gaps of a record would say that is refused anyhow; nothing where a policy fills them."""
    if weather.missing_days != "refuse" or weather.diary is not None:
        return []
    try:
        gaps.refuse(daily, _within(daily, first, last))
    except InputError as fault:
        return fault.faults
    return []


def _within(daily: Reading, first: dt.date | None, last: dt.date | None) -> Mask:
    """Days of the run."""
    within = np.ones(len(daily.days), dtype=bool)
    if first is not None:
        within &= daily.days >= np.datetime64(first)
    if last is not None:
        within &= daily.days <= np.datetime64(last)
    return within


def drop_impossible(daily: Reading) -> Reading:
    """Take values that cannot be, accepted by the owner, for missing: negative rain, temperatures."""
    negative = daily.rain < 0
    rain, origin, others = daily.rain, daily.origin, dict(daily.others)
    if negative.any():
        rain, origin = rain.copy(), origin.copy()
        rain[negative], origin[negative] = np.nan, Origin.MISSING
    low, high = others.get("t_min"), others.get("t_max")
    for name, values in (("t_min", low), ("t_max", high)):
        if values is not None:
            others[name] = np.where((values < -90) | (values > 60), np.nan, values)
    if low is not None and high is not None and (high < low).any():
        for name in ("t_min", "t_max"):
            others[name] = np.where(high < low, np.nan, others[name])
    return replace(daily, rain=rain, origin=origin, others=others)


def complete(
    daily: Reading,
    weather: Weather,
    first: dt.date | None,
    last: dt.date | None,
    other: Reading | None = None,
) -> Record:
    """Apply the policy for missing days, cut to the days asked for, and write the provenance."""
    within = _within(daily, first, last)
    if not within.any():
        raise InputError(
            f"weather file '{daily.source}' covers {daily.days[0]} to {daily.days[-1]}, none of the days "
            f"asked for ({first or 'its start'} to {last or 'its end'})"
        )
    missing = (daily.origin == Origin.MISSING) & within
    notes: list[str] = []
    filled = daily
    if missing.any():
        filled = _fill(daily, weather, within, other)
        notes.append(f"{gaps.describe(daily, missing)}; filled by the policy '{weather.missing_days}'")
    filled = gaps.fill_others(filled)
    return to_record(filled.noting(*notes), within, missing=int(missing.sum()), gap=gaps.longest(missing))


def _fill(daily: Reading, weather: Weather, within: Mask, other: Reading | None) -> Reading:
    match weather.missing_days:
        case "refuse":
            gaps.refuse(daily, within)
            return daily
        case "zero":
            return gaps.fill_zero(daily, within)
        case "climate":
            return gaps.fill_climate(daily, within)
        case "neighbour":
            if other is None:
                raise InputError(
                    'weather: missing_days = "neighbour" needs neighbour = "FILE", the record of the nearest '
                    "good station"
                )
            filled = neighbour.fill(daily, other, within)
            gaps.refuse(filled, within, " and at the neighbour")
            return filled


def to_record(
    daily: Reading, within: Mask | None = None, *, missing: int = 0, gap: gaps.Gap | None = None
) -> Record:
    """The record of a reading that stands on consecutive days, cut to `within`."""
    rows = slice(None) if within is None else within
    origin = daily.origin[rows]
    data = daily_dataset(
        daily.days[rows],
        daily.rain[rows],
        origin,
        **{name: values[rows] for name, values in daily.others.items()},
    )
    return Record(
        data,
        Provenance(
            source=daily.source,
            station=daily.station,
            place=daily.place,
            licence=daily.licence,
            units_as_read=daily.units_as_read,
            day_ends=daily.day_ends,
            missing=missing,
            longest_gap=gap.days if gap else 0,
            filled=int(np.isin(origin, FILLED).sum()),
            notes=daily.notes,
            not_used=tuple(name for name, use in daily.columns if use.startswith("not used")),
        ),
    )
