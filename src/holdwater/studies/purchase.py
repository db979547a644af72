"""What the next purchase buys: dry days bought back, backup water saved, what each costs, and what it makes worse.

Purchases are the variants of the file, and one more unit of what the holding has: a tank, a tenth more
roof, a tenth less use, drip lines, no first flush. No price is ever made up.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.scenario.faults import did_you_mean
from holdwater.scenario.schema import Refill, Scenario
from holdwater.studies.batch import Site
from holdwater.studies.drawbacks import Days, drawbacks
from holdwater.studies.engine import Told, run_all
from holdwater.studies.levels import moving
from holdwater.studies.offers import Offer, offered
from holdwater.studies.outcome import Outcome
from holdwater.studies.sweep import score_of
from holdwater.units import System


@dataclass(frozen=True)
class Bought:
    """What an offer buys, against the present; a year is 365.25 days.

    Attributes
    ----------
    offer : Offer
        The offer.
    days : Days
        Days with it, over the run.
    back, unserved_back, stress_back, held_back_back : float
        Dry, unserved, stressed and held-back days bought back [days per year]; negative where there are more.
    backup_L, cost : float
        Backup water with it [L per year], and its cost [per year].
    hauled_L, loads : float
        What of it came in loads [L per year], and how many loads [per year].
    saved_L, saved : float
        Backup water saved [L per year], and its cost [per year].
    hauled_saved_L, loads_saved : float
        What of it would have come in loads [L per year], and how many loads [per year].
    """

    offer: Offer
    days: Days
    back: float
    unserved_back: float
    stress_back: float
    held_back_back: float
    backup_L: float
    cost: float
    hauled_L: float
    loads: float
    saved_L: float
    saved: float
    hauled_saved_L: float
    loads_saved: float

    @property
    def dry_days(self) -> int:
        """Dry days with it, over the run [days]."""
        return self.days.dry

    @property
    def unserved_days(self) -> int:
        """Unserved days with it, over the run [days]."""
        return self.days.unserved

    @property
    def stressed_days(self) -> int:
        """Days with it on which a bed was short of water, over the run [days]."""
        return self.days.stressed

    @property
    def other_L(self) -> float:
        """Backup water that comes by pipe: from a well or mains [L per year]."""
        return self.backup_L - self.hauled_L

    @property
    def other_saved_L(self) -> float:
        """Backup water by pipe that it saves [L per year]."""
        return self.saved_L - self.hauled_saved_L

    @property
    def back_per_thousand(self) -> float | None:
        """Dry days a year bought back for every 1,000 spent, infinite for nothing; None without a price."""
        price = self.offer.cost
        if price == 0.0:
            return math.copysign(math.inf, self.back) if self.back else 0.0
        return None if price is None else self.back / (price / 1000.0)

    @property
    def pays_back_in(self) -> float | None:
        """Years in which the backup water saved pays for it; None without a price or a saving [years]."""
        price = self.offer.cost
        return None if not price or self.saved <= 0.0 else price / self.saved


@dataclass(frozen=True)
class Purchases:
    """All offers, the best first.

    Attributes
    ----------
    base : ScenarioFile
        The scenario as it is.
    site : Site
        Its weather.
    present : Bought
        The scenario as it is, as an offer of nothing.
    bought : list of Bought
        By dry days bought back for the price; then those without a price by dry days; then those that
        buy none, by what they save the beds and then the backup. `worse` says what an offer costs besides.
    left_out : list of str
        Offers that could not be run, and why.
    """

    base: ScenarioFile
    site: Site
    present: Bought
    bought: list[Bought]
    left_out: list[str]

    def worse(self, each: Bought) -> list[str]:
        """What an offer makes worse than at present, dry days apart."""
        return drawbacks(self.present.days, each.days)

    def moving(self, system: System) -> list[str]:
        """Which levels given as a share mean other amounts of water with an offer."""
        changed = [(each.offer.name, each.offer.file.scenario) for each in self.bought]
        return moving(self.base.scenario, changed, system)

    def frontier(self) -> list[Bought]:
        """Of the present and the offers with a price, those that no cheaper one equals, the cheapest first."""
        priced = [self.present, *(each for each in self.bought if each.offer.cost is not None)]
        best: list[Bought] = []
        for each in sorted(priced, key=lambda b: (b.offer.cost or 0.0, b.dry_days)):
            if not best or each.dry_days < best[-1].dry_days:
                best.append(each)
        return best


def next_purchases(
    base: ScenarioFile,
    site: Site,
    prices: Mapping[str, float],
    told: Told | None = None,
) -> Purchases:
    """Run every offer through the weather and rank it.

    Parameters
    ----------
    base : ScenarioFile
        The scenario as it is.
    site : Site
        Its weather.
    prices : mapping of str to float
        Prices by the offer's name, before those of the file.
    told : callable, optional
        Called with the number of offers run since the last call.

    Raises
    ------
    InputError
        A price for an offer that there is not.
    """
    offers, left_out = offered(base)
    names = [offer.name for offer in offers]
    faults = [f"there is no offer '{n}'; {did_you_mean(n, names, 'offer')}" for n in prices if n not in names]
    if faults:
        raise InputError(faults)
    offers = [Offer(o.name, o.file, prices[o.name], "--cost") if o.name in prices else o for o in offers]
    present = Offer("present", base, 0.0, "")
    readies = []
    runs = [present]
    for offer in [present, *offers]:
        try:
            readies.append(site.ready(offer.file.scenario))
        except InputError as fault:
            left_out += [f"{offer.name}: {said}" for said in fault.faults]
        else:
            runs += [offer] if offer is not present else []
    outcome = run_all(site, readies, base.scenario.run.year_starts, told)
    hauled = [_hauled(offer.file.scenario, outcome, i) for i, offer in enumerate(runs)]
    found = [_bought(offer, outcome, i, (hauled[0], hauled[i])) for i, offer in enumerate(runs)]
    return Purchases(base, site, found[0], sorted(found[1:], key=_rank), left_out)


def _hauled(scenario: Scenario, outcome: Outcome, i: int) -> float:
    """Backup water of a design that came in loads, over the run [L]."""
    refills = [backup for backup in scenario.backup if isinstance(backup, Refill)]
    return sum(float(outcome.supplied[b, i]) for b, each in enumerate(refills) if each.load is not None)


def _bought(offer: Offer, outcome: Outcome, i: int, hauled: tuple[float, float]) -> Bought:
    years = outcome.n_days / 365.25
    backup, loads = score_of(outcome, "backup"), score_of(outcome, "loads")

    def back(name: str) -> float:
        values = score_of(outcome, name)
        return float(values[0] - values[i]) / years

    return Bought(
        offer=offer,
        days=Days(
            dry=int(outcome.dry_days[i]),
            unserved=int(outcome.unserved_days[i]),
            stressed=int(outcome.stressed_days[i]),
            held_back=int(outcome.held_back_days[i]),
        ),
        back=back("dry_days"),
        unserved_back=back("unserved_days"),
        stress_back=back("stressed_days"),
        held_back_back=back("held_back_days"),
        backup_L=float(backup[i]) / years,
        cost=float(outcome.cost[i]) / years,
        hauled_L=hauled[1] / years,
        loads=float(loads[i]) / years,
        saved_L=back("backup"),
        saved=back("cost"),
        hauled_saved_L=(hauled[0] - hauled[1]) / years,
        loads_saved=back("loads"),
    )


def _rank(each: Bought) -> tuple[int, float, float, float]:
    """Bought for a price, by what a thousand buys; then without a price; then what buys no dry day."""
    value = each.back_per_thousand
    if each.back <= 0.0:
        return 2, -each.back, -each.stress_back, -each.saved_L
    if value is None:
        return 1, -each.back, -each.stress_back, 0.0
    return 0, -value, -each.back, -each.stress_back
