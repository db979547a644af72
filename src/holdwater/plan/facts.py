"""What the scenario says of each part of the holding, in a few words for drawings and tables."""

from __future__ import annotations

from collections.abc import Mapping

from holdwater import words
from holdwater.demand import per_person
from holdwater.scenario.quantities import MonthDayValue
from holdwater.scenario.schema import (
    Backup,
    Direct,
    Draw,
    FirstFlush,
    Fixed,
    Garden,
    Household,
    Livestock,
    Roof,
    Season,
)
from holdwater.units import System, figures, show


def roof(part: Roof, system: System) -> list[str]:
    """Area and surface, first flush, season, and how it is shared out."""
    area = show(part.area, "area", system)
    said = [f"{area} of {part.surface}" if part.surface and part.runoff_coefficient is None else area]
    flush = first_flush(part, system)
    if flush:
        said.append(f"first flush {flush}")
    if part.collects:
        said.append(f"collects {season(part.collects)}")
    if not isinstance(part.feeds, str) and len(part.feeds) > 1:
        said.append(feeds(part))
    return [words.plain(each) for each in said]


def first_flush(part: Roof, system: System) -> str:
    """Volume of the chamber and where it drains; "" without one."""
    chamber = part.first_flush
    volume = flushed(chamber, part.area)
    if chamber is None or volume <= 0.0:
        return ""
    return show(volume, "volume", system) + (f" to {chamber.to}" if chamber.to else "")


def flushed(chamber: FirstFlush | None, area: float) -> float:
    """Volume of a first-flush chamber [L]."""
    return 0.0 if chamber is None else chamber.volume or (chamber.depth or 0.0) * area


def draw(part: Draw, system: System) -> list[str]:
    """What it uses, when, and where it stops by its own rule."""
    said = [use(part, system)]
    if part.season:
        said.append(season(part.season))
    if part.stops_below is not None:
        said.append(f"stops below {show(part.stops_below, 'level', system)}")
    if part.may_use_reserve:
        said.append("may use the reserve")
    return [words.plain(each) for each in said]


def use(part: Draw, system: System) -> str:
    """ "3 people, 25 gal/day each", "4 doe, dry; 20 hen, laying", "130 ft2 of tomato, drip"."""
    if isinstance(part, Household):
        each = show(per_person(part), "flow", system)
        people = figures(part.people)
        return f"{people} {'person' if people == '1' else 'people'}, {each} each"
    if isinstance(part, Livestock):
        return herd(part.animals)
    if isinstance(part, Garden):
        fed = "rain-fed" if part.rain_fed else part.method
        return f"{show(part.area, 'area', system)} of {part.crop}, {fed}"
    return _fixed(part, system)


def _fixed(part: Fixed, system: System) -> str:
    if part.monthly is None:
        return show(part.per_day or 0.0, "flow", system)
    low, high = (show(end(part.monthly), "flow", system) for end in (min, max))
    return f"{low} to {high}, by month"


def herd(animals: Mapping[str, float]) -> str:
    """ "4 doe, dry; 20 hen, laying"."""
    return "; ".join(f"{figures(head)} {name}" for name, head in animals.items()) or "none"


def backup(part: Backup, system: System) -> list[str]:
    """How it comes, when it is called, and what it costs."""
    said = []
    if isinstance(part, Direct):
        said.append("serves what the tanks cannot")
    else:
        if part.load is not None:
            said.append(f"{show(part.load, 'volume', system)} a load")
        said.append(f"called below {show(part.starts_below, 'level', system)}")
        if part.lead_days:
            said.append(f"comes {words.count(part.lead_days, 'day')} later")
    if part.per_day is not None:
        said.append(f"at most {show(part.per_day, 'flow', system)}")
    return said


def cost(part: Backup, system: System) -> str:
    """Its price; "" where none is given."""
    said = []
    if part.cost_per_volume is not None:
        said.append(show(part.cost_per_volume, "price", system))
    if not isinstance(part, Direct) and part.cost_per_load is not None:
        said.append(f"{figures(part.cost_per_load)} a load")
    return ", ".join(said)


def season(part: Season) -> str:
    """ "1 March to 30 November"."""
    return f"{day(part.from_)} to {day(part.to)}"


def day(of_year: MonthDayValue) -> str:
    """ "10 May"."""
    return f"{of_year.day} {words.MONTHS[of_year.month - 1]}"


def feeds(part: Roof) -> str:
    """ "upper", "60 % to upper, 40 % to lower"."""
    if isinstance(part.feeds, str):
        return part.feeds
    return ", ".join(
        f"{words.share(share, 1.0)} to {name}" for name, share in part.feeds.items() if share > 0.0
    )


def listed(names: list[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return " and ".join([", ".join(names[:-1]), names[-1]]) if names[1:] else "".join(names)
