"""What the numbers rest on: the rule of the day, coefficients with their sources, snow, soil, draws."""

from __future__ import annotations

from collections.abc import Iterator

from holdwater import words
from holdwater.demand import per_person
from holdwater.plan import facts
from holdwater.plan.section import Matter, Section, section
from holdwater.plan.tabled import used, warmth
from holdwater.report.summary import DEFINITIONS
from holdwater.scenario import tables
from holdwater.scenario.schema import Garden, Household, Livestock, Scenario
from holdwater.units import System, show

RULE = {
    "YAS": "Rain serves from the next day on (yield after spillage, YAS): a day's draws are served from what stood"
    " in the tanks that morning, and of the day's rain what finds no room above that water spills. The cautious rule.",
    "YBS": "Rain serves at once (yield before spillage, YBS): the day's rain comes in before the draws are served,"
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
    scenario, told = matter.scenario, matter.ledger.record.provenance.notes
    return section(
        "assumptions",
        "What was assumed?",
        answer=_briefly(scenario),
        rule=RULE[scenario.run.rule],
        general=[ORDER, *_start(scenario), *_snow(matter), NOT_COUNTED],
        roofs=list(_roofs(scenario)),
        draws=list(_draws(matter)),
        tables=used(matter),
        notes=[note for note in matter.ledger.warnings if note not in told],
        definitions=[(key.replace("_", " "), DEFINITIONS[key]) for key in WORDS],
        references=[
            "Jenkins et al. 1978 (YAS and YBS)",
            f"{DEFINITIONS['reference']} (reliability, resilience, vulnerability)",
            "Allen et al. 1998, FAO Irrigation and Drainage Paper 56 (crops, soil, evapotranspiration)",
        ],
    )


def _briefly(scenario: Scenario) -> str:
    """Rule and start in one line."""
    rule = RULE[scenario.run.rule].split(" (")[0]
    start = scenario.run.start_full
    begun = (
        "from tanks full as given"
        if isinstance(start, dict)
        else f"from tanks {words.share(start, 1.0)} full"
    )
    return f"{rule} ({scenario.run.rule}), {begun}; sources of every coefficient."


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
    cold, warm = (warmth(t, matter.system) for t in (snow.all_snow_at, snow.all_rain_at))
    us = matter.system == "us"
    melt = show(snow.melt_per_degree / (1.8 if us else 1.0), "depth", matter.system, 2)
    yield (
        f"Snow: all of a day's precipitation at a mean temperature of {cold} or less, none at {warm} or more, in"
        f" proportion between; it melts on the roof at {melt} a day for each {'degF' if us else 'degC'} above freezing."
    )


def _roofs(scenario: Scenario) -> Iterator[list[str]]:
    """Name, coefficient and what else was assumed; roofs that say the same in one row."""
    said: dict[tuple[str, str], list[str]] = {}
    for roof in scenario.roof:
        used = f"{tables.runoff_coefficient(roof):.2f}"
        more = ["as given in the scenario" if roof.runoff_coefficient is not None else f"{roof.surface}"]
        if roof.wetting_loss > 0.0:
            more.append(f"wetting loss {roof.wetting_loss:g} mm")
        if roof.filter_efficiency < 1.0:
            more.append(f"the filter passes {words.share(roof.filter_efficiency, 1.0)}")
        if roof.snow_lost > 0.0:
            more.append(f"{words.share(roof.snow_lost, 1.0)} of the snow is lost")
        if facts.first_flush(roof, "metric") and roof.first_flush:
            drains = show(roof.first_flush.drains_in, "duration", "metric")
            more.append(f"the full first-flush chamber drips empty in {drains}")
        said.setdefault((used, "; ".join(more)), []).append(words.plain(roof.name))
    for (used, more_), names in said.items():
        yield [facts.listed(names), used, more_]


def _draws(matter: Matter) -> Iterator[list[str]]:
    """Name, and what its amounts come from."""
    for draw in matter.scenario.draw:
        if isinstance(draw, Household):
            said = f"{show(per_person(draw), 'flow', matter.system)} per person"
            said += ", from the fixtures of the house" if draw.fixtures else ", as given"
        elif isinstance(draw, Livestock):
            warm = "t_min" in matter.ledger.record.data
            said = "head times what one drinks at " + (
                "the day's mean air temperature" if warm else warmth(tables.ROOM_TEMPERATURE, matter.system)
            )
        elif isinstance(draw, Garden):
            said = _bed(draw, matter.system)
        else:
            said = "amounts as given"
        if draw.monthly_factor:
            said += "; times a factor for every month"
        yield [draw.name, said]


def _bed(draw: Garden, system: System) -> str:
    """What was said of a bed, and what stands in place of the tables."""
    crop, grown = draw.crop, f", planted {facts.day(draw.planted)}" if draw.planted else ""
    said = [f"{crop}{grown}, in {draw.soil}, {'rain-fed' if draw.rain_fed else draw.method}"]
    if draw.root_depth is not None:
        said.append(f"roots {show(draw.root_depth, 'height', system)} deep, as given")
    if draw.stages is not None:
        said.append(f"stages of {', '.join(map(str, draw.stages))} days, as given")
    if draw.efficiency is not None:
        said.append(f"{words.share(draw.efficiency, 1.0)} of the water reaches the roots, as given")
    if draw.trigger is not None:
        said.append(f"watered once {words.share(draw.trigger, 1.0)} of the soil's water is used up")
    if draw.refill_to < 1.0:
        said.append(f"watered up to {words.share(draw.refill_to, 1.0)} of what the soil holds")
    if draw.mulch > 0.0:
        said.append(f"{words.share(draw.mulch, 1.0)} of the soil under mulch")
    return "; ".join(said)
