"""What to buy: what each purchase buys back, and how many dry days any size of roofs and tanks would have."""

from __future__ import annotations

import math

import numpy as np

from holdwater.charts.designs_map import designs_map
from holdwater.charts.pareto import pareto_chart
from holdwater.errors import InputError
from holdwater.plan.drawing import picture
from holdwater.plan.section import Matter, Section, finding, section
from holdwater.scenario.schema import Scenario, Tank
from holdwater.studies.dials import Dial, Grid
from holdwater.studies.drawbacks import worse_for
from holdwater.studies.engine import Site, run_all
from holdwater.studies.purchase import Bought, Purchases, next_purchases
from holdwater.studies.quantity import Axis
from holdwater.studies.sweep import Sweep
from holdwater.tanks import vessel
from holdwater.units import Kind, System, show

FACTORS = tuple(float(f) for f in np.linspace(0.4, 1.9, 6).round(2))
"""Sizes on the map, as multiples of the present ones; 1 is among them."""


def next_purchase(matter: Matter) -> Section:
    """Every variant of the file and one more unit of what there is, run through the same weather."""
    site = Site.of(matter.scenario, matter.ledger.record)
    found = next_purchases(matter.file, site, {})
    drawn = picture(
        pareto_chart(found, matter.system),
        "offers",
        "What can be bought, by its price and the dry days left with it",
    )
    return section(
        "next",
        "What does the next purchase buy?",
        drawn,
        answer=finding(drawn.finding),
        head=_head(found),
        rows=[_row(each, found, matter.system) for each in found.bought],
        backup=_has_backup(found),
        moving=found.moving(matter.system),
        left_out=[said for said in found.left_out if not _own(said, matter.file.variant)],
    )


def _own(said: str, variant: str | None) -> bool:
    """Whether what was left out is the what-if that the plan itself is of."""
    return variant is not None and said.startswith(f"{variant}: ")


def _has_backup(found: Purchases) -> bool:
    return bool(found.base.scenario.backup)


def _head(found: Purchases) -> list[str]:
    columns = ["purchase or change", "price", "dry days with it", "bought back a year", "for each 1,000"]
    columns += ["backup saved a year", "pays back in"] if _has_backup(found) else []
    return [*columns, *(["worse for"] if _any_worse(found) else [])]


def _any_worse(found: Purchases) -> bool:
    return any(found.worse(each) for each in found.bought)


def _row(each: Bought, found: Purchases, system: System) -> list[str]:
    price = "not given" if each.offer.cost is None else f"{each.offer.cost:,.0f}"
    per = "-" if each.back_per_thousand is None else f"{each.back_per_thousand:.1f}"
    cells = [each.offer.name, price, f"{each.dry_days:,}", f"{each.back:.1f}", per]
    if _has_backup(found):
        years = each.pays_back_in
        more = " more" if each.saved_L < 0.0 else ""
        saved = show(abs(each.saved_L), "bulk", system, 2)
        cells += [saved + more, "-" if years is None else f"{years:.0f} years"]
    cells += [worse_for(found.present.days, each.days) or "-"] if _any_worse(found) else []
    return cells


# ------------------------------------------------------------------------------------------------ the map


def sizes(matter: Matter) -> Section | None:
    """All roofs smaller or larger, all tanks smaller or larger, and the dry days of each combination."""
    found = _sized(matter)
    if found is None:
        return None
    drawn = picture(
        designs_map(found, matter.system),
        "sizes",
        "Map of dry days a year by the area of the roofs and the capacity of the tanks, the present set-up marked",
    )
    return section(
        "sizes",
        "How much roof, and how much tank?",
        drawn,
        answer=finding(drawn.finding),
        number=found.grid.size,
    )


def _sized(matter: Matter) -> Sweep | None:
    """The sweep behind the map; None where the small sizes leave no working holding."""
    scenario = matter.scenario
    site = Site.of(scenario, matter.ledger.record)
    try:
        readies = [site.ready(resized(scenario, roofs, tanks)) for roofs in FACTORS for tanks in FACTORS]
    except InputError:
        return None
    starts = scenario.run.year_starts
    outcome, present = run_all(site, readies, starts), run_all(site, [site.ready(scenario)], starts)
    area = math.fsum(roof.area for roof in scenario.roof)
    capacity = math.fsum(vessel(tank).capacity for tank in scenario.tank)
    axes = [_axis("roof area", "area", area), _axis("capacity", "volume", capacity)]
    return Sweep(matter.file, site, Grid(tuple(each.dial for each in axes)), axes, outcome, present)


def _axis(label: str, kind: Kind, present: float) -> Axis:
    dial = Dial(label, tuple(f"{factor:g}" for factor in FACTORS))
    return Axis(dial, label, kind, np.array(FACTORS) * present, present)


def resized(scenario: Scenario, roofs: float, tanks: float) -> Scenario:
    """Multiply the area of every roof, and the volume of every tank at the same heights.

    Parameters
    ----------
    scenario : Scenario
        The checked holding.
    roofs, tanks : float
        Factors above 0 [-].
    """
    return scenario.model_copy(
        update={
            "roof": [roof.model_copy(update={"area": roof.area * roofs}) for roof in scenario.roof],
            "tank": [_wider(tank, tanks) for tank in scenario.tank],
        }
    )


def _wider(tank: Tank, factor: float) -> Tank:
    """A tank as high as before that holds so many times as much."""
    changes: dict[str, object] = {}
    if tank.capacity is not None:
        changes["capacity"] = tank.capacity * factor
    if tank.diameter is not None:
        changes["diameter"] = tank.diameter * math.sqrt(factor)
    if tank.levels is not None:
        changes["levels"] = [row.model_copy(update={"volume": row.volume * factor}) for row in tank.levels]
    return tank.model_copy(update=changes)
