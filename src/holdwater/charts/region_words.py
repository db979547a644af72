"""What a region's map says in words: the finding, whose weather, what was not run and why."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import xarray as xr

from holdwater import words
from holdwater.charts.sheet import RULES
from holdwater.studies.region_place import State

Numbers = npt.NDArray[np.float64]


def finding(data: xr.Dataset) -> str:
    """Say how many dry days a year there are over the region, and where most."""
    values = data["dry_days_per_year"].values.ravel()
    ran = values[~np.isnan(values)]
    name, what = words.holding(data.attrs["title"]), kind(data)
    many = words.count(ran.size, what)
    if not ran.size:
        return f"{name} could not be run anywhere."
    least, middle, most = (float(f(ran)) for f in (np.min, np.median, np.max))
    if most == 0.0:
        return (
            f"{name} would not have run dry in any of {many}."
            if ran.size > 1
            else f"{name} would not run dry."
        )
    where = _where(data, int(np.nanargmax(values)))
    if ran.size == 1:
        return f"{name} would be dry on {days(most)} a year {where}."
    said = (
        f"{name} would be dry on {figure(least)} to {days(most)} a year over {many} (median {figure(middle)})"
    )
    never = int((ran == 0.0).sum())
    at = "at" if what == "station" else "in"
    return f"{said}, most {where}" + (f"; never {at} {words.count(never, what)}." if never else ".")


def figure(value: float) -> str:
    """Days a year as a reader would say them: "0", "0.4", "17"."""
    return f"{value:.0f}" if value >= 10.0 or value == 0.0 else f"{max(value, 0.1):.1f}".removesuffix(".0")


def days(value: float) -> str:
    """The same with the word: "1 day", "17 days"."""
    said = figure(value)
    return f"{said} day" if said == "1" else f"{said} days"


def kind(data: xr.Dataset) -> str:
    """What a place is called."""
    return "station" if "station" in data["state"].dims else "cell"


def _where(data: xr.Dataset, flat: int) -> str:
    """ "at 38.25° N, 109.00° W", "at Upper Creek"."""
    if "station" in data["state"].dims:
        return f"at {words.plain(str(data['station'].values[flat]))}"
    north, east = (every_place(data, name).ravel()[flat] for name in ("latitude", "longitude"))
    return f"at {degrees(north, 'NS', 2)}, {degrees((east + 180.0) % 360.0 - 180.0, 'EW', 2)}"


def degrees(value: float, signs: str, digits: int) -> str:
    """A latitude or longitude: "38.25° N"."""
    return f"{abs(value):.{digits}f}° {signs[int(value < 0.0)]}" if value else f"{value:.{digits}f}°"


def sources(data: xr.Dataset) -> list[str]:
    """Say whose weather it is, under which rule and for which days the runs were made, and what was not run."""
    known = data.attrs
    licence = words.plain(known.get("license", ""))
    period = f"{known['first_day']} to {known['last_day']}" if known.get("first_day") else "of each record"
    cell = (
        " A cell is the mean of an area, with more days of rain and smaller extremes than a gauge."
        if kind(data) == "cell"
        else ""
    )
    change = words.plain(known["weather_change"])
    changed = f" Changed on purpose: {change}." if change else ""
    rule = known["operating_rule"]
    said = [
        f"Weather: {words.plain(known['source'])}.{changed}"
        + (f" Licence: {licence}." if licence else "")
        + cell,
        f"The same roofs, tanks and draws in every place. Rule: {rule} ({RULES[rule]}). Period: {period}."
        " A worse drought than any on record can come.",
    ]
    refused = [f"{words.count(n, kind(data))} with {state.label}" for state, n in not_run(data).items()]
    return [*said, f"Not run: {', '.join(refused)}."] if refused else said


def not_run(data: xr.Dataset) -> dict[State, int]:
    """How many places were not run, by reason."""
    codes = data["state"].values
    counts = {state: int((codes == state).sum()) for state in State if state != State.RUN}
    return {state: n for state, n in counts.items() if n}


def coordinate(data: xr.Dataset, standard: str) -> xr.DataArray | None:
    """The variable of latitudes or longitudes."""
    for name in data.variables:
        if data[name].attrs.get("standard_name") == standard or str(name).lower() in (standard, standard[:3]):
            return data[name]
    return None


def every_place(data: xr.Dataset, standard: str) -> Numbers:
    """Latitude or longitude of every place, in the shape of the places."""
    found = coordinate(data, standard)
    assert found is not None
    wide = found.broadcast_like(data["state"]).transpose(*data["state"].dims)
    return np.asarray(wide.values, dtype=float)
