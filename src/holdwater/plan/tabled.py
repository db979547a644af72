"""The rows of the tables that come with the program which this holding uses, each with its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from holdwater import words
from holdwater.demand import months
from holdwater.ledger import Ledger
from holdwater.plan.section import Matter
from holdwater.report.show import et0_from
from holdwater.scenario import tables
from holdwater.scenario.schema import Garden, Household, Livestock, Scenario
from holdwater.scenario.tables import growing
from holdwater.units import System, figures, scale

IN_A_FOOT, MM_IN_A_METRE = 12.0, 1000.0


@dataclass(frozen=True)
class Table:
    """Rows of one table.

    Attributes
    ----------
    caption : str
        What it is, and how its numbers are used.
    head : list of str
        Columns, with their units.
    rows : list of list of str
        Cells; the last is the source.
    """

    caption: str
    head: list[str]
    rows: list[list[str]]


def used(matter: Matter) -> list[Table]:
    """Every table this holding takes a number from."""
    scenario, system = matter.scenario, matter.system
    found = (
        _surfaces(scenario),
        _fixtures(scenario, system),
        _animals(scenario, system),
        _crops(scenario, system),
        _soils(scenario, system),
        _methods(scenario),
        _et0(matter.ledger, system),
    )
    return [table for table in found if table.rows]


def _source(source: str, how_known: str) -> str:
    return source if how_known == "read" else f"{source} ({how_known})"


def _surfaces(scenario: Scenario) -> Table:
    names = dict.fromkeys(roof.surface for roof in scenario.roof if roof.runoff_coefficient is None)
    rows = [tables.surfaces()[name] for name in names if name]
    return Table(
        "Roof surfaces: share of the rain on the plan area that reaches the gutter.",
        ["surface", "used", "published", "source"],
        [
            [
                row.name,
                f"{row.used:.2f}",
                f"{row.low:.2f} to {row.high:.2f}",
                _source(row.source, row.how_known),
            ]
            for row in rows
        ],
    )


def _fixtures(scenario: Scenario, system: System) -> Table:
    wanted = {name for draw in scenario.draw if isinstance(draw, Household) for name in (draw.fixtures or {})}
    factor, unit = scale("flow", system)
    return Table(
        "Household fixtures: an average house, which the scenario multiplies.",
        ["fixture", f"uses [{unit}]", "source"],
        [
            [
                row["fixture"],
                figures(float(row["L_per_day"]) * factor),
                _source(row["source"], row["how_known"]),
            ]
            for row in tables.rows("fixtures")
            if row["fixture"] in wanted
        ],
    )


def _herds(scenario: Scenario) -> Iterator[str]:
    for draw in scenario.draw:
        if isinstance(draw, Livestock):
            yield from draw.animals
            for more in draw.also:
                yield from more.animals


def _animals(scenario: Scenario, system: System) -> Table:
    unit = "gal" if system == "us" else "L"
    return Table(
        "Animals: what one drinks in a day; between two air temperatures on a straight line.",
        ["animal", f"drinks [{unit} a head and day]", "source"],
        [
            [name, _drinks(tables.animals()[name], system), _drinking_source(tables.animals()[name])]
            for name in dict.fromkeys(_herds(scenario))
        ],
    )


def _drinks(animal: tables.Animal, system: System) -> str:
    """ "0.055 at 50 degF, 0.09 at 90 degF"; the amounts used, middles of the published ranges."""
    factor = scale("flow", system)[0]
    said = []
    for row in animal.rows:
        amount = figures(row.used * factor)
        if row.low != row.high:
            amount += f" (published {figures(row.low * factor)} to {figures(row.high * factor)})"
        at = "" if row.temperature is None else f" at {warmth(row.temperature, system)}"
        said.append(amount + at)
    return ", ".join(said)


def _drinking_source(animal: tables.Animal) -> str:
    said = dict.fromkeys(_source(row.source, row.how_known) for row in animal.rows)
    notes = dict.fromkeys(row.note for row in animal.rows if row.note)
    return "; ".join([*said, *notes])


def _beds(scenario: Scenario) -> list[Garden]:
    return [draw for draw in scenario.draw if isinstance(draw, Garden)]


def _crops(scenario: Scenario, system: System) -> Table:
    factor, unit = scale("height", system)
    rows = []
    for name in dict.fromkeys(bed.crop for bed in _beds(scenario)):
        crop = growing.crops()[name]
        stages = ", ".join(map(str, crop.stages)) if crop.stages else "-"
        kc = ", ".join(f"{value:.2f}" for value in (crop.kc_ini, crop.kc_mid, crop.kc_end))
        roots = figures(crop.root_depth * factor, 2)
        source = _source(crop.source, crop.how_known)
        rows.append([crop.name, kc, stages, roots, f"{crop.p:.2f}", source])
    return Table(
        "Crops: coefficient on the reference evapotranspiration at the start, the middle and the end; p is the share of"
        " the soil's water used up before the crop suffers.",
        ["crop", "coefficient", "stages [days]", f"roots [{unit}]", "p", "source"],
        rows,
    )


def _soils(scenario: Scenario, system: System) -> Table:
    each, unit = (IN_A_FOOT, "in per ft") if system == "us" else (MM_IN_A_METRE, "mm per m")
    factor, depth = scale("depth", system)
    rows = []
    for name in dict.fromkeys(bed.soil for bed in _beds(scenario)):
        soil = growing.soils()[name]
        full, wilts = (f"{a:.2f} to {b:.2f}" for a, b in (soil.field_capacity, soil.wilting_point))
        bare = figures(soil.readily_evaporable * factor, 2)
        source = _source(soil.source, soil.how_known)
        rows.append([soil.name, full, wilts, figures(soil.holds * each), bare, source])
    return Table(
        "Soils: water as a share of the soil's volume; the middles of the ranges are used.",
        [
            "soil",
            "field capacity",
            "wilting point",
            f"holds for roots [{unit}]",
            f"bare, loses freely [{depth}]",
            "source",
        ],
        rows,
    )


def _methods(scenario: Scenario) -> Table:
    wanted = {bed.method for bed in _beds(scenario) if bed.efficiency is None and not bed.rain_fed}
    return Table(
        "Ways of watering: share of the water that reaches the roots.",
        ["method", "share", "source"],
        [
            [
                row["method"],
                words.share(float(row["efficiency"]), 1.0),
                _source(row["source"], row["how_known"]),
            ]
            for row in tables.rows("methods")
            if row["method"] in wanted
        ],
    )


def _et0(ledger: Ledger, system: System) -> Table:
    """Mean of every month of the reference evapotranspiration of the run."""
    source = et0_from(ledger)
    head = ["month", *(name[:3] for name in words.MONTHS)]
    if not source:
        return Table("", head, [])
    factor, unit = scale("depth", system)
    month, values = months(ledger.days), ledger.flux("et0") * factor
    digits = 2 if system == "us" else 1
    means = [
        f"{np.mean(values[month == m]):.{digits}f}" if (month == m).any() else "-"
        for m in range(len(head) - 1)
    ]
    return Table(
        f"Reference evapotranspiration [{unit} a day], mean of each month of the run. From: {source}.",
        head,
        [["mean", *means]],
    )


def warmth(degrees: float, system: System) -> str:
    """A temperature as people say it: "30 degF"."""
    return f"{degrees * 1.8 + 32.0:.0f} degF" if system == "us" else f"{degrees:.0f} degC"
