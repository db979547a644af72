"""`holdwater tables`: what the program knows of crops, soils, animals, surfaces, methods and fixtures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from holdwater.cli.text import as_json, columns
from holdwater.scenario import tables
from holdwater.scenario.tables import growing
from holdwater.units import System, figures, scale

Row = dict[str, Any]
IN_A_FOOT, MM_IN_A_METRE = 12.0, 1000.0


@dataclass(frozen=True)
class Column:
    """One column of a table.

    Attributes
    ----------
    head : str
        Its heading, without the unit.
    value : callable
        Text of a row in the units shown.
    us, metric : str
        Its unit.
    """

    head: str
    value: Callable[[Row, System], str]
    us: str = ""
    metric: str = ""

    def heading(self, system: System) -> str:
        """Heading with its unit."""
        unit = self.us if system == "us" else self.metric
        return f"{self.head} [{unit}]" if unit else self.head


@dataclass(frozen=True)
class Table:
    """Rows in the units of `units`, and how a person sees them."""

    about: str
    rows: Callable[[], list[Row]]
    columns: tuple[Column, ...]
    units: dict[str, str]


def show(name: str, system: System, json: bool, quiet: bool) -> None:
    """Print one table, with the source of every row.

    Parameters
    ----------
    name : str
        A key of `TABLES`.
    system : str
        "us" or "metric"; JSON is always in the units it names.
    json : bool
        Print JSON.
    quiet : bool
        Print nothing else.
    """
    table = TABLES[name]
    if json:
        print(as_json({"table": name, "about": table.about, "units": table.units, "rows": table.rows()}))
    elif not quiet:
        print(as_text(table, system))


def as_text(table: Table, system: System) -> str:
    """A table in aligned columns; the sources stand below it, by number."""
    rows = table.rows()
    sources = list(dict.fromkeys(row["source"] for row in rows))
    head = [*(column.heading(system) for column in table.columns), "how known", "source"]
    lines = [head]
    for row in rows:
        cells = [column.value(row, system) for column in table.columns]
        lines.append([*cells, row["how_known"], f"[{sources.index(row['source']) + 1}]"])
    known = len(head) - 2
    said = columns(lines, left=(0, known, known + 1))
    notes = "\n".join(f"  [{number}] {source}" for number, source in enumerate(sources, start=1))
    return f"{table.about}\n\n{said}\n\nSources\n{notes}"


def _surfaces() -> list[Row]:
    return [vars(row) | {"used": row.used} for row in tables.surfaces().values()]


def _animals() -> list[Row]:
    return [
        {
            "name": animal.name,
            "temperature": row.temperature,
            "low": row.low,
            "high": row.high,
            "used": row.used,
            "note": row.note,
            "how_known": row.how_known,
            "source": row.source,
        }
        for animal in tables.animals().values()
        for row in animal.rows
    ]


def _crops() -> list[Row]:
    return [vars(row) | {"stages": row.stages and list(row.stages)} for row in growing.crops().values()]


def _soils() -> list[Row]:
    return [
        {
            "name": row.name,
            "field_capacity": list(row.field_capacity),
            "wilting_point": list(row.wilting_point),
            "holds": row.holds,
            "evaporates_freely": list(row.evaporates_freely),
            "how_known": row.how_known,
            "source": row.source,
        }
        for row in growing.soils().values()
    ]


def _methods() -> list[Row]:
    return [
        {
            "name": row["method"],
            "efficiency": float(row["efficiency"]),
            "how_known": row["how_known"],
            "source": row["source"],
        }
        for row in tables.rows("methods")
    ]


def _fixtures() -> list[Row]:
    return [
        {
            "name": row["fixture"],
            "per_day": float(row["L_per_day"]),
            "gal_per_day": float(row["gal_per_day"]),
            "how_known": row["how_known"],
            "source": row["source"],
        }
        for row in tables.rows("fixtures")
    ]


def _name(head: str) -> Column:
    return Column(head, lambda row, system: str(row["name"]))


def _number(head: str, key: str) -> Column:
    return Column(head, lambda row, system: f"{row[key]:.2f}")


def _flow(row: Row, system: System) -> str:
    low, high = (figures(row[key] * scale("flow", system)[0]) for key in ("low", "high"))
    return low if low == high else f"{low} to {high}"


def _warmth(row: Row, system: System) -> str:
    if row["temperature"] is None:
        return "any"
    return figures(row["temperature"] * 1.8 + 32 if system == "us" else row["temperature"])


def _stages(row: Row, system: System) -> str:
    if row["stages"]:
        return " + ".join(str(days) for days in row["stages"])
    return "all year" if row["habit"] == "ground cover" else "none known"


def _depth_range(row: Row, system: System) -> str:
    factor = scale("height", system)[0]
    return f"{row['root_depth'] * factor:.0f} to {row['deepest'] * factor:.0f}"


def _range(key: str) -> Callable[[Row, System], str]:
    return lambda row, system: f"{row[key][0]:.2f} to {row[key][1]:.2f}"


def _holds(row: Row, system: System) -> str:
    return figures(row["holds"] * (IN_A_FOOT if system == "us" else MM_IN_A_METRE))


def _freely(row: Row, system: System) -> str:
    factor, digits = scale("depth", system)[0], 2 if system == "us" else 0
    low, high = (f"{depth * factor:.{digits}f}" for depth in row["evaporates_freely"])
    return f"{low} to {high}"


def _per_day(row: Row, system: System) -> str:
    return figures(row["gal_per_day"] if system == "us" else row["per_day"])


TABLES: dict[str, Table] = {
    "crops": Table(
        'Crops for garden draws: crop = "tomato". Kc: crop coefficient. The smaller root depth is used.',
        _crops,
        (
            _name("crop"),
            Column("habit", lambda row, system: str(row["habit"])),
            _number("Kc ini", "kc_ini"),
            _number("mid", "kc_mid"),
            _number("end", "kc_end"),
            Column("stages", _stages, "days", "days"),
            Column("roots", _depth_range, "in", "cm"),
            _number("p", "p"),
        ),
        {
            "kc_ini": "-",
            "kc_mid": "-",
            "kc_end": "-",
            "stages": "days",
            "root_depth": "mm",
            "deepest": "mm",
            "p": "-",
        },
    ),
    "soils": Table(
        'Soils for garden draws: soil = "sandy loam". The middles of the ranges are used.',
        _soils,
        (
            _name("soil"),
            Column("field capacity", _range("field_capacity")),
            Column("wilting point", _range("wilting_point")),
            Column("holds", _holds, "in per ft", "mm per m"),
            Column("evaporates freely", _freely, "in", "mm"),
        ),
        {"field_capacity": "-", "wilting_point": "-", "holds": "mm/mm", "evaporates_freely": "mm"},
    ),
    "animals": Table(
        'Animals for livestock draws: animals = { "hen, laying" = 20 }. Between two air temperatures the amounts'
        " lie on a straight line;\nof a range the middle is used.",
        _animals,
        (
            _name("animal"),
            Column("at", _warmth, "degF", "degC"),
            Column("drinks", _flow, "gal/head/day", "L/head/day"),
        ),
        {"temperature": "degC", "low": "L/head/day", "high": "L/head/day", "used": "L/head/day"},
    ),
    "surfaces": Table(
        'Roof surfaces: surface = "metal". The runoff coefficient is the share of the rain that reaches the gutter.',
        _surfaces,
        (_name("surface"), _number("used", "used"), _number("low", "low"), _number("high", "high")),
        {"low": "-", "high": "-", "used": "-"},
    ),
    "methods": Table(
        'Ways of watering: method = "drip". The efficiency is the share of the water that reaches the roots.',
        _methods,
        (_name("method"), _number("efficiency", "efficiency")),
        {"efficiency": "-"},
    ),
    "fixtures": Table(
        "Fixtures for household draws: fixtures = { toilet = 0, shower = 0.6 }, as multiples of an average house's.",
        _fixtures,
        (_name("fixture"), Column("uses", _per_day, "gal/day", "L/day")),
        {"per_day": "L/day", "gal_per_day": "gal/day"},
    ),
}
