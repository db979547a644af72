"""What the numbers rest on: the rule of the day, coefficients with their sources, snow, soil, draws."""

from __future__ import annotations

from collections.abc import Iterator

from holdwater import words
from holdwater.demand import per_person
from holdwater.plan import facts
from holdwater.plan.section import Matter, Section, section
from holdwater.report import verdict
from holdwater.report.show import et0_from
from holdwater.report.summary import DEFINITIONS
from holdwater.scenario import tables
from holdwater.scenario.schema import Garden, Household, Livestock, Scenario
from holdwater.scenario.tables import growing
from holdwater.units import System, show

RULE = {
    "YAS": "Draw first, then fill (yield after spillage, YAS): a day's draws are served from what stood in the tanks"
    " that morning, then the day's rain comes in and what finds no room spills. The cautious rule.",
    "YBS": "Fill first, then draw (yield before spillage, YBS): the day's rain comes in before the draws are served,"
    " and what finds no room after them spills. The hopeful rule.",
}
ORDER = (
    "Within a day: snow and roofs, first flush, inflow, draws in their order, overflow, pumps between tanks, backup,"
    " leaks and evaporation, levels of joined tanks. Every litre is booked; nothing is cut off to fit."
)
NOT_COUNTED = (
    "Not counted: what happens within a day, water quality, losses in pipes, silt in the tanks, a slow link (joined"
    " tanks stand level every day), climate to come."
)
WORDS = ("dry_day", "unserved_day", "held_back_day", "rainless_spell")


def assumptions(matter: Matter) -> Section:
    """Say in words what was assumed."""
    scenario = matter.scenario
    return section(
        "assumptions",
        "What was assumed?",
        rule=RULE[scenario.run.rule],
        general=[ORDER, *_start(scenario), *_snow(matter), *_thirst(matter), NOT_COUNTED],
        roofs=list(_roofs(scenario)),
        draws=list(_draws(matter)),
        notes=verdict.warnings(matter.ledger, matter.scores),
        definitions=[(key.replace("_", " "), DEFINITIONS[key]) for key in WORDS],
        references=[
            "Jenkins et al. 1978 (YAS and YBS)",
            f"{DEFINITIONS['reference']} (reliability, resilience, vulnerability)",
            "Allen et al. 1998, FAO Irrigation and Drainage Paper 56 (crops, soil, evapotranspiration)",
        ],
    )


def _start(scenario: Scenario) -> Iterator[str]:
    """How full the tanks were on the first morning."""
    start = scenario.run.start_full
    if isinstance(start, dict):
        given = [f"{words.plain(name)} {words.share(share, 1.0)}" for name, share in start.items()]
        yield f"On the first morning the tanks were full to: {', '.join(given)}."
    else:
        yield f"On the first morning the tanks held {words.share(start, 1.0)} of what can be drawn from them when full."


def _snow(matter: Matter) -> Iterator[str]:
    if "t_min" not in matter.ledger.record.data:
        yield "Snow: the record has no temperatures, so all precipitation is taken as rain."
        return
    snow = matter.scenario.snow
    cold, warm = (_warmth(t, matter.system) for t in (snow.all_snow_at, snow.all_rain_at))
    us = matter.system == "us"
    melt = show(snow.melt_per_degree / (1.8 if us else 1.0), "depth", matter.system, 2)
    yield (
        f"Snow: all of a day's precipitation at a mean temperature of {cold} or less, none at {warm} or more, in"
        f" proportion between; it melts on the roof at {melt} a day for each {'degF' if us else 'degC'} above freezing."
    )


def _thirst(matter: Matter) -> Iterator[str]:
    """How reference evapotranspiration is known, where anything asks for it."""
    source = et0_from(matter.ledger)
    if source:
        yield f"Reference evapotranspiration: {source}."


def _warmth(degrees: float, system: System) -> str:
    return f"{degrees * 1.8 + 32.0:.0f} degF" if system == "us" else f"{degrees:.0f} degC"


def _roofs(scenario: Scenario) -> Iterator[list[str]]:
    """Name, coefficient and where it comes from."""
    for roof in scenario.roof:
        used = f"{tables.runoff_coefficient(roof):.2f}"
        if roof.runoff_coefficient is not None:
            source = "as given in the scenario"
        else:
            row = tables.surfaces()[roof.surface or ""]
            source = f"{row.name}, published {row.low:.2f} to {row.high:.2f}. {row.source} ({row.how_known})"
        more = []
        if roof.wetting_loss > 0.0:
            more.append(f"wetting loss {roof.wetting_loss:g} mm")
        if roof.filter_efficiency < 1.0:
            more.append(f"the filter passes {words.share(roof.filter_efficiency, 1.0)}")
        if roof.snow_lost > 0.0:
            more.append(f"{words.share(roof.snow_lost, 1.0)} of the snow is lost")
        if facts.first_flush(roof, "metric") and roof.first_flush:
            drains = show(roof.first_flush.drains_in, "duration", "metric")
            more.append(f"the full first-flush chamber drips empty in {drains}")
        yield [roof.name, used, "; ".join([source, *more])]


def _draws(matter: Matter) -> Iterator[list[str]]:
    """Name, and what its amounts come from."""
    for draw in matter.scenario.draw:
        if isinstance(draw, Household):
            said = f"{show(per_person(draw), 'flow', matter.system)} per person"
            said += (
                ", from the fixtures of the house (Residential End Uses of Water 2016)"
                if draw.fixtures
                else ", as given"
            )
        elif isinstance(draw, Livestock):
            sources = {row.source for name in draw.animals for row in tables.animals()[name].rows}
            said = "litres per head by air temperature: " + "; ".join(sorted(sources))
        elif isinstance(draw, Garden):
            said = _bed(draw, matter.system)
        else:
            said = "amounts as given"
        if draw.monthly_factor:
            said += "; times a factor for every month"
        yield [draw.name, said]


def _bed(draw: Garden, system: System) -> str:
    crop, soil = growing.crops()[draw.crop], growing.soils()[draw.soil]
    depth = show(draw.root_depth or crop.root_depth, "height", system)
    stages = draw.stages or crop.stages
    share = growing.methods().get(draw.method, 1.0) if draw.efficiency is None else draw.efficiency
    grown = f", planted {facts.day(draw.planted)}" if draw.planted else ""
    lengths = f", stages of {', '.join(map(str, stages))} days" if stages else ""
    return (
        f"{crop.name}{grown}: crop coefficient {crop.kc_ini:g}, {crop.kc_mid:g}, {crop.kc_end:g}{lengths}, roots"
        f" {depth} deep ({crop.source}); {soil.name} holds {100 * soil.holds:.0f} % of its depth for the roots"
        f" ({soil.source}); {draw.method} brings {words.share(share, 1.0)} of the water to them"
    )
