"""Which column of a plain table is what, in which unit; every doubt is a fault with its cure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from holdwater.errors import InputError
from holdwater.weather.formats import headers
from holdwater.weather.formats.headers import DATE, ET0, ORIGIN, RAIN, T_MAX, T_MIN
from holdwater.weather.formats.table import Table

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile


@dataclass(frozen=True)
class Columns:
    """Where the quantities stand and in which unit; `parts` are year, month, day columns.

    `uses` names every column of the table and says what it was used as.
    """

    at: dict[str, int]
    units: dict[str, str]
    parts: tuple[int, int, int] | None
    notes: tuple[str, ...]
    uses: tuple[tuple[str, str], ...] = ()


NOT_USED = "not used"
_USES = {
    DATE: "the date",
    RAIN: "rain",
    T_MIN: "t_min, the day's lowest temperature,",
    T_MAX: "t_max, the day's highest temperature,",
    ET0: "reference evapotranspiration",
    ORIGIN: "where the day's rain comes from",
}


def find_columns(table: Table, weather: WeatherFile) -> Columns:
    """Which column is what, in which unit; every fault of the header is told at once."""
    headings = [_heading(column, weather) for column in table.columns]
    faults: list[str] = []
    at: dict[str, int] = {}
    chosen = {
        DATE: weather.date_column,
        RAIN: weather.rain_column,
        T_MIN: weather.t_min_column,
        T_MAX: weather.t_max_column,
        ET0: weather.et0_column,
    }
    for quantity, wanted in chosen.items():
        found = [i for i, h in enumerate(headings) if h.quantity == quantity]
        found = [i for i in found if not headings[i].short] or found
        position, fault = _pick(table, quantity, wanted, found)
        if fault:
            faults.append(fault)
        if position is not None:
            at[quantity] = position
    parts = None
    if DATE not in at or (not weather.date_column and table.columns[at[DATE]].lower() == "day"):
        parts = _date_parts(table)
        if parts is None and DATE not in at:
            faults.append(_absent(table, DATE, "date_column"))
    if RAIN not in at and not any("column of rain" in f or "rain_column" in f for f in faults):
        faults.append(_absent(table, RAIN, "rain_column"))
    units, notes = _find_units(table, weather, at, faults)
    if ORIGIN in (h.quantity for h in headings):
        at[ORIGIN] = next(i for i, h in enumerate(headings) if h.quantity == ORIGIN)
    if faults:
        raise InputError(faults)
    return Columns(at, units, parts, tuple(notes), _uses(table, at, units, parts))


def _heading(column: str, weather: WeatherFile) -> headers.Heading:
    """What a column name says, a bare "High" too where the scenario names the unit of temperatures."""
    found = headers.understand(column)
    if found.quantity is None and weather.temperature_unit is not None:
        return headers.Heading(headers.could_be(column), None, short=True)
    return found


def _uses(
    table: Table, at: dict[str, int], units: dict[str, str], parts: tuple[int, int, int] | None
) -> tuple[tuple[str, str], ...]:
    """Every column and what it was used as."""
    used = {
        i: _USES[q] + (f" in {headers.WORDS.get(units[q], units[q])}" if q in units else "")
        for q, i in at.items()
    }
    if parts is not None:
        used |= dict(zip(parts, ("the year", "the month", "the day"), strict=True))
    told = []
    for i, column in enumerate(table.columns):
        use = used.get(i, NOT_USED)
        meant = headers.could_be(column)
        if use == NOT_USED and meant:
            use += f": its name has no unit; if it is {_USES[meant]} "
            use += 'say temperature_unit = "degF" or "degC"'
        told.append((column or f"column {i + 1}, without a name", use))
    return tuple(told)


def _pick(table: Table, quantity: str, wanted: str | None, found: list[int]) -> tuple[int | None, str | None]:
    if wanted is not None:
        names = [c.casefold() for c in table.columns]
        if names.count(wanted.strip().casefold()) == 1:
            return names.index(wanted.strip().casefold()), None
        problem = "stands twice" if wanted.strip().casefold() in names else "was not found"
        return None, (
            f"weather file '{table.name}': {quantity}_column = \"{wanted}\" {problem}; "
            f"the columns are {_listed(table.columns)}"
        )
    if len(found) > 1 and quantity != DATE:
        return None, (
            f"weather file '{table.name}' has more than one column of {quantity}: "
            f'{_listed([table.columns[i] for i in found])}; choose with {quantity}_column = "..."'
        )
    if len(found) > 1:
        exact = [i for i in found if "date" in table.columns[i].lower()]
        if len(exact) != 1:
            return None, (
                f"weather file '{table.name}' has more than one column of dates: "
                f'{_listed([table.columns[i] for i in found])}; choose with date_column = "..."'
            )
        found = exact
    return (found[0] if found else None), None


def _date_parts(table: Table) -> tuple[int, int, int] | None:
    names = [c.casefold().strip() for c in table.columns]
    parts = []
    for accepted in headers.PART_NAMES.values():
        found = [i for i, n in enumerate(names) if n in accepted]
        if len(found) != 1:
            return None
        parts.append(found[0])
    return parts[0], parts[1], parts[2]


def _find_units(
    table: Table, weather: WeatherFile, at: dict[str, int], faults: list[str]
) -> tuple[dict[str, str], list[str]]:
    units: dict[str, str] = {}
    notes: list[str] = []
    for quantity in (RAIN, T_MIN, T_MAX, ET0):
        if quantity not in at:
            continue
        column = table.columns[at[quantity]]
        said, odd = headers.unit_of(column, quantity)
        declared: str | None = (
            weather.rain_unit
            if quantity == RAIN
            else (weather.temperature_unit if quantity in (T_MIN, T_MAX) else None)
        )
        if declared and (said or odd) and declared != said:
            notes.append(f"column '{column}' was read in {declared}, as the scenario says")
        unit = declared or said
        if unit:
            units[quantity] = unit
        elif quantity == ET0 and weather.et0_column is None:
            del at[ET0]
            notes.append(f"column '{column}' was not used: its name has no unit (et0_mm or et0_in)")
        else:
            faults.append(_no_unit(table.name, column, quantity, odd))
    return units, notes


def _no_unit(name: str, column: str, quantity: str, odd: str | None) -> str:
    if quantity == ET0:
        cure = 'name it "et0_mm" or "et0_in"'
    elif quantity == RAIN:
        cure = f'say rain_unit = "mm", "in" or "tenths of mm", or name it "{column} (in)" or "{column} (mm)"'
    else:
        cure = f'say temperature_unit = "degC" or "degF", or name it "{column} (F)" or "{column} (C)"'
    what = f"has the unit '{odd}', which is not known" if odd else "has no unit"
    return f"weather file '{name}': column '{column}' {what}; {cure}"


def _absent(table: Table, what: str, key: str) -> str:
    return (
        f"weather file '{table.name}' has no column of {what} that can be told by its name; the columns are "
        f'{_listed(table.columns)}; {_titled(table)}choose with {key} = "..."'
    )


def _titled(table: Table) -> str:
    """Ask for a title where a header has more columns without a name than with one."""
    named = sum(bool(column) for column in table.columns)
    line = table.header_line + 1
    return f"is line {line} a title? then delete it; else " if len(table.columns) > 2 * named else ""


def _listed(columns: list[str]) -> str:
    shown = ", ".join(f"'{c[:40]}'" for c in columns[:12])
    return shown + (f" and {len(columns) - 12} more" if len(columns) > 12 else "")
