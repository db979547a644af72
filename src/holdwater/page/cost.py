"""What a design costs: the water bought, and the price of what is larger than in the scenario as it is.

No price is made up. A size is priced in proportion: by the part's own `cost` in the file, else by a what-if
of the file that enlarges just this part and has a price, else by what the user types on the page. Whatever
has none of these is said to have no price.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pydantic import BaseModel

from holdwater import words
from holdwater.errors import InputError
from holdwater.page.dials import Dial
from holdwater.page.trial import Trial
from holdwater.scenario import ScenarioFile, variant_names
from holdwater.scenario.schema import Direct, Refill, Roof, Run, Scenario, Tank
from holdwater.scenario.variants import Change, variant_changes
from holdwater.studies.offers import cost_of
from holdwater.studies.paths import split
from holdwater.tanks import vessel
from holdwater.units.showing import figures

NOT_GIVEN = "price not given"
NOTHING = "nothing to buy"
Part = Roof | Tank


@dataclass(frozen=True)
class Rate:
    """Price of one more unit of a size.

    Attributes
    ----------
    price : float
        Of one shown unit.
    source : str
        Where it is from, in words.
    """

    price: float
    source: str


@dataclass(frozen=True)
class Line:
    """One change against the scenario as it is.

    Attributes
    ----------
    path : str
        The dial, or "variant", "run.rule", "run.days".
    label, was, now : str
        What it is, and its values with their units.
    price : float or None
        What it costs; None where no price is known.
    note : str
        "price not given", "nothing to buy", or how the price comes about.
    """

    path: str
    label: str
    was: str
    now: str
    price: float | None = 0.0
    note: str = NOTHING


def rates(base: ScenarioFile, start: ScenarioFile, known: Sequence[Dial]) -> dict[str, Rate]:
    """Prices per unit of the dials that are bought by size, as far as the file tells them."""
    found: dict[str, Rate] = {}
    priced = _priced_variants(base)
    for dial in known:
        if dial.buys == "size":
            section, name = split(start.scenario, dial.path)[:2]
            rate = _rate(base.scenario, start.scenario, section, name, priced)
            if rate is not None:
                whole = _size(_named(start.scenario, section, name))
                found[dial.path] = Rate(rate.price * whole / dial.value, rate.source)
    return found


def _rate(
    base: Scenario, start: Scenario, section: str, name: str, priced: Mapping[str, tuple[Scenario, float]]
) -> Rate | None:
    """Price per inside unit (m2, L) of a part's size."""
    part = _named(base, section, name) or _named(start, section, name)
    if part is None:
        return None
    if part.cost:
        return Rate(part.cost / _size(part), "its cost in the file, in proportion") if _size(part) else None
    for variant, (after, price) in priced.items():
        more = _only_larger(base, after, section, name)
        if more > 0.0 and price > 0.0:
            return Rate(price / more, f'the what-if "{variant}", in proportion')
    return None


def _priced_variants(base: ScenarioFile) -> dict[str, tuple[Scenario, float]]:
    """What-ifs of the file with a price."""
    found = {}
    for name in variant_names(base):
        try:
            after = base.vary(variant_changes(base.raw, name)).scenario
        except InputError:  # it is told where it is chosen
            continue
        price = cost_of(base.scenario, after, base.raw["variant"][name])
        if price is not None:
            found[name] = (after, price)
    return found


def _only_larger(before: Scenario, after: Scenario, section: str, name: str) -> float:
    """By how much a part grows where nothing else of the holding changes [m2 or L]; 0 where more does."""
    old, new = _named(before, section, name), _named(after, section, name)
    if old is None or new is None:
        return 0.0
    sizes = ("area",) if section == "roof" else ("capacity", "diameter", "overflow", "levels")
    same_part = _but_for(old, *sizes, "cost") == _but_for(new, *sizes, "cost")
    same_rest = _but_for(before, section, "site") == _but_for(after, section, "site")
    beside = [[part for part in getattr(each, section) if part.name != name] for each in (before, after)]
    return _size(new) - _size(old) if same_part and same_rest and beside[0] == beside[1] else 0.0


def _but_for(part: Part | Scenario, *keys: str) -> BaseModel:
    return part.model_copy(update=dict.fromkeys(keys))


def _named(scenario: Scenario, section: str, name: str) -> Part | None:
    return next((part for part in getattr(scenario, section) if part.name == name), None)


def _size(part: Part | None) -> float:
    """Area [m2] or capacity [L]."""
    if part is None:
        return 0.0
    return part.area if isinstance(part, Roof) else vessel(part).capacity


def line(dial: Dial, value: float, own: float | None, rate: Rate | None) -> Line:
    """A dial that was turned, and what that costs.

    Parameters
    ----------
    value : float
        Where it stands.
    own : float or None
        The user's own price of one unit, before the file's.
    rate : Rate or None
        The file's.
    """
    about = (dial.path, dial.label, dial.amount(dial.value), dial.amount(value))
    if dial.buys == "works":
        return Line(*about, None, NOT_GIVEN)
    if not dial.buys:
        return Line(*about)
    if value < dial.value:
        return Line(*about, 0.0, "smaller: nothing to buy, and no saving counted")
    price = own if own is not None else rate.price if rate is not None else None
    if price is None:
        return Line(*about, None, NOT_GIVEN)
    source = "your price" if own is not None else rate.source if rate is not None else ""
    each = f"{figures(price, 3)} per {dial.unit}: {source}"
    return Line(*about, round(price * (value - dial.value), 2), each)


def variant_line(base: ScenarioFile, start: ScenarioFile, variant: str) -> Line:
    """The what-if a design starts from, and its price."""
    price = cost_of(base.scenario, start.scenario, base.raw.get("variant", {}).get(variant))
    note = NOT_GIVEN if price is None else "its cost in the file"
    return Line("variant", "start from", "the scenario itself", f'what-if "{variant}"', price, note)


def run_lines(run: Run, rule: str | None, period: Sequence[Change]) -> list[Line]:
    """What the run itself has changed: its rule, its days; nothing of it is bought."""
    lines = [] if rule in (None, run.rule) else [Line("run.rule", "operating rule", run.rule, str(rule))]
    for path, day in period:
        was = run.from_ if path == "run.from" else run.to
        which = "first" if path == "run.from" else "last"
        lines.append(
            Line("run.days", f"{which} day", "that of the record" if was is None else str(was), str(day))
        )
    return lines


def one_off(lines: Sequence[Line]) -> tuple[float, int]:
    """Price of all changes as far as known, and how many have none."""
    return sum(each.price or 0.0 for each in lines), sum(each.price is None for each in lines)


def unpriced(scenario: Scenario) -> list[str]:
    """Names of the backups whose water has no price in the file."""
    return [b.name for b in scenario.backup if b.cost_per_volume is None and not _by_load(b)]


def _by_load(backup: Direct | Refill) -> bool:
    return isinstance(backup, Refill) and backup.cost_per_load is not None


def a_year(trial: Trial) -> float:
    """Cost of the backup water of a mean year of 365.25 days."""
    return trial.cost / (trial.days.size / 365.25)


def water_text(trial: Trial, scenario: Scenario) -> tuple[str, str]:
    """Cost of the water bought in a mean year, and what it leaves out."""
    if not scenario.backup:
        return "no backup", ""
    without = unpriced(scenario) if trial.supplied > 0.0 else []
    if len(without) == len(scenario.backup):
        return "not given", "no price in the file"
    return figures(a_year(trial), 2), "and some unpriced" if without else ""


def changes_text(lines: Sequence[Line]) -> tuple[str, str]:
    """One-off price of the changes, and how many of them it leaves out."""
    total, missing = one_off(lines)
    left = f"and {missing} unpriced" if missing else ""
    if total:
        return f"{total:,.0f}", left
    return ("not given" if missing else "none"), left


def counted(trial: Trial, scenario: Scenario, lines: Sequence[Line], before: float) -> str:
    """Say what the two costs count, and what they leave out.

    Parameters
    ----------
    before : float
        Cost of the water bought in a mean year with the scenario as it is.
    """
    said = ["Money in the currency of the scenario file."]
    without = unpriced(scenario)
    if len(without) < len(scenario.backup):
        length = words.span(trial.days[0].item(), trial.days[-1].item())
        loads = f" for {words.count(trial.loads, 'load')}" if trial.loads else ""
        said.append(f"Water bought: {trial.cost:,.0f}{loads} in {length}, shared out to a mean year.")
    if without:
        said.append(f"The water of {', '.join(without)} has no price in the file.")
    if lines:
        missing = one_off(lines)[1]
        none = f"; {words.count(missing, 'change')} without a price" if missing else ""
        said.append(f"Changes: what they cost once, against the scenario as it is{none}.")
    return " ".join(
        [*said, *_paid_back(trial, lines, before, without), "Upkeep, power and interest are not counted."]
    )


def _paid_back(trial: Trial, lines: Sequence[Line], before: float, without: list[str]) -> list[str]:
    """In how many years the water saved pays for the changes, where both are known."""
    price, missing = one_off(lines)
    saved = before - a_year(trial)
    if missing or without or not price or round(saved) <= 0:
        return []
    years = words.count(round(price / saved), "year") if price >= saved else "less than a year"
    return [f"They save {saved:,.0f} of bought water a year, which pays for them in {years}."]
