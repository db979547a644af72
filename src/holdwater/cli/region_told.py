"""What a region comes to, in words, in a table, and as plain data."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from holdwater import words
from holdwater.charts.region_words import coordinate, every_place, finding, kind, not_run
from holdwater.cli.text import as_json as as_json
from holdwater.cli.text import columns
from holdwater.errors import InputError
from holdwater.studies.region_place import SCORES, State
from holdwater.studies.region_table import VARIED
from holdwater.units import System, show

SHOWN = {
    "dry_days_per_year": "dry days a year",
    "dry_days_of_worst_year": "dry days in the worst year",
    "longest_dry_spell": "longest dry spell [days]",
    "unserved_days_per_year": "unserved days a year",
    "reliability_volume": "volume reliability",
    "backup_per_year": "backup water a year",
    "rain_per_year": "rain a year",
}
MOST_DESIGNS = 20


def as_data(data: xr.Dataset, system: System) -> dict[str, Any]:
    """The region as plain data, in litres, millimetres and days.

    Raises
    ------
    InputError
        The holding could not be run anywhere; says why.
    """
    codes = data["state"].values
    ran, empty = int((codes == State.RUN).sum()), int((codes == State.NO_DATA).sum())
    refused = {
        state.name.lower(): {"places": n, "such_as": _example(data, state)}
        for state, n in not_run(data).items()
        if state != State.NO_DATA
    }
    if not ran:
        raise InputError(_nowhere(data, refused))
    missing, filled = data["missing_days"].values, data["filled_days"].values
    known = data.attrs
    return {
        "scenario": known["title"],
        "verdict": finding(data),
        "rule": known["operating_rule"],
        "period": {"from": known["first_day"] or None, "to": known["last_day"] or None},
        "weather": {
            "source": known["source"],
            "licence": known["license"],
            "change": known["weather_change"] or None,
        },
        "places": {
            "kind": kind(data),
            "total": int(codes.size),
            "run": ran,
            "no_data": empty,
            "refused": refused,
        },
        "missing_days": {
            "policy": known["missing_days_policy"],
            "places_with_missing": int(((missing > 0) & (codes != State.NO_DATA)).sum()),
            "days_missing": int(missing[codes != State.NO_DATA].sum()),
            "days_filled": int(filled.sum()),
        },
        "scores": {name: _spread(data, name) for name in (*SCORES, "rain_per_year")},
        "designs": _designs(data),
        "units": {name: data[name].attrs.get("units", "1") for name in (*SCORES, "rain_per_year")},
        "notes": _notes(data, system),
    }


def _nowhere(data: xr.Dataset, refused: dict[str, Any]) -> list[str]:
    what = words.count(data["state"].size, kind(data))
    if not refused:
        return [f"none of {what} has a value of rain; is it the right variable?"]
    said = [f"the holding could not be run in any of {what}"]
    return [*said, *(f"{each['places']}: {each['such_as']['fault']}" for each in refused.values())]


def _example(data: xr.Dataset, state: State) -> dict[str, Any]:
    """The first place that was not run for a reason, and its fault."""
    first = int(np.flatnonzero(data["state"].values.ravel() == state)[0])
    return {"place": _place(data, first), "fault": str(data["fault"].values.ravel()[first])}


def _place(data: xr.Dataset, flat: int) -> dict[str, Any]:
    at: dict[str, Any] = {}
    if "station" in data["state"].dims:
        at["station"] = str(data["station"].values[flat])
    for name in ("latitude", "longitude"):
        if coordinate(data, name) is not None:
            value = float(every_place(data, name).ravel()[flat])
            at[name] = round(value, 6) if np.isfinite(value) else None
    return at


def _spread(data: xr.Dataset, name: str) -> dict[str, Any] | None:
    """Least, middle and most over the places that know it."""
    values = data[name].values.ravel().astype(float)
    known = values[np.isfinite(values)]
    if not known.size:
        return None
    return {
        "least": float(known.min()),
        "median": float(np.median(known)),
        "most": float(known.max()),
        "most_at": _place(data, int(np.nanargmax(np.where(np.isfinite(values), values, np.nan)))),
    }


def _designs(data: xr.Dataset) -> list[dict[str, Any]]:
    """Every design of the dials: its values in the inside unit, and what it does to the region."""
    if f"varied_{VARIED[0]}" not in data:
        return []
    space = data["state"].dims
    dials = [d for d in data[f"varied_{VARIED[0]}"].dims if d not in space]
    shape = [data.sizes[d] for d in dials]
    told = []
    for at in np.ndindex(*shape):
        where = dict(zip(dials, at, strict=True))
        design: dict[str, Any] = {
            "values": {str(d): float(data[d].values[i]) for d, i in where.items()},
        }
        for name in VARIED:
            values = data[f"varied_{name}"].isel(where).values
            known = values[np.isfinite(values)]
            design[name] = (
                {"least": float(known.min()), "median": float(np.median(known)), "most": float(known.max())}
                if known.size
                else None
            )
        told.append(design)
    return told


def _notes(data: xr.Dataset, system: System) -> list[str]:
    """What was not run and why, days filled, and what to mind when places are compared."""
    what = kind(data)
    change = data.attrs["weather_change"]
    said = [f"the weather was changed on purpose: {change}"] if change else []
    for state, n in not_run(data).items():
        if state == State.NO_DATA:
            said.append(f"{words.count(n, what)} without any value (sea, or masked) stay empty")
            continue
        each = _example(data, state)
        said.append(f"{words.count(n, what)} not run: {state.label}; the first says: {each['fault']}")
    filled = int(data["filled_days"].values.sum())
    if filled:
        places = int((data["filled_days"].values > 0).sum())
        policy = data.attrs["missing_days_policy"]
        said.append(
            f"{words.count(filled, 'day')} without rain filled in {words.count(places, what)} (missing_days ="
            f' "{policy}")'
        )
    lengths = data["days"].values[data["state"].values == State.RUN]
    if lengths.size and lengths.min() != lengths.max():
        said.append(
            f"the records run over {lengths.min():,} to {lengths.max():,} days; say run.from and run.to to"
            " compare the same years"
        )
    if what == "cell":
        said.append(
            "a cell is the mean of an area: it has more days of rain and smaller extremes than a gauge, and"
            " real places in it may be drier"
        )
    return said


def diary_notes(diary: str | None, what: str) -> list[str]:
    """Say that the gauge log of the holding is left out, where the scenario has one."""
    if diary is None:
        return []
    return [
        f"the diary '{diary}' of the scenario is left out: it is the rain of one gauge, and no {what} is topped up"
        " with it"
    ]


def print_text(data: xr.Dataset, told: dict[str, Any], system: System) -> None:
    """Print the finding, the table, the designs and what to know."""
    print(f"{told['verdict']}\n")
    print(table(data, told, system))
    if told["designs"]:
        print(f"\n{designs_table(told)}")
    for note in told["notes"]:
        print(f"\nNote: {note}.")
    print("\nCaution: Results come from past weather: a worse drought can come.")


def table(data: xr.Dataset, told: dict[str, Any], system: System) -> str:
    """Least, middle and most over the places, one row for each score."""
    rows = [[f"over {words.count(told['places']['run'], kind(data))}", "least", "median", "most"]]
    for name, label in SHOWN.items():
        spread = told["scores"][name]
        if spread is not None:
            rows.append([label, *(_shown(name, spread[k], system) for k in ("least", "median", "most"))])
    return columns(rows)


def _shown(name: str, value: float, system: System) -> str:
    match name:
        case "reliability_volume":
            return show(value, "share", system)
        case "backup_per_year":
            return show(value, "volume", system)
        case "rain_per_year":
            return show(value, "depth", system)
        case "longest_dry_spell" | "dry_days_of_worst_year":
            return f"{value:,.0f}"
    return f"{value:,.1f}"


def designs_table(told: dict[str, Any]) -> str:
    """Dry days a year by design."""
    designs = told["designs"]
    dials = list(designs[0]["values"])
    rows = [[*dials, "dry days a year: least", "median", "most"]]
    for design in designs[:MOST_DESIGNS]:
        spread = design["dry_days_per_year"]
        numbers = [f"{spread[k]:,.1f}" for k in ("least", "median", "most")] if spread else ["-"] * 3
        rows.append([*(f"{design['values'][d]:,.6g}" for d in dials), *numbers])
    more = len(designs) - MOST_DESIGNS
    return columns(rows, ()) + (f"\n  and {more} more designs in region.json" if more > 0 else "")
