"""How well the holding held: dry days, reliability, spells and years, read off the ledger."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.day import SHORT
from holdwater.garden_scores import BedScore, bed_scores
from holdwater.ledger import Floats, Ledger, closing_error
from holdwater.spells import Spell, describe, rainless, runs

Flags = npt.NDArray[np.bool_]

FULL = 0.99
"""Share of the drawable capacity that counts as full again; see `was_full`."""


@dataclass(frozen=True)
class YearRow:
    """One calendar or water year (named after the calendar year it ends in) [L, mm, days]."""

    year: int
    first: dt.date
    last: dt.date
    days: int
    rain_mm: float
    inflow_L: float
    overflow_L: float
    asked_L: float
    delivered_L: float
    backup_L: float
    dry_days: int
    unserved_days: int
    held_back_days: int
    longest_dry_spell: int
    lowest_storage_L: float


@dataclass(frozen=True)
class DryDays:
    """Days on which the tanks could not give a draw all it asked for."""

    total: int
    per_year: float
    by_draw: dict[str, int]
    by_year: dict[int, int]


@dataclass(frozen=True)
class HeldBack:
    """Days on which a draw took less by its own rule: a stop level or a saving step.

    Such water was not asked of the tanks, so these days are told apart from dry days.
    """

    total: int
    by_draw: dict[str, int]
    by_year: dict[int, dict[str, int]]


@dataclass(frozen=True)
class Scores:
    """What a run tells.

    Attributes
    ----------
    dry_day, unserved_day : ndarray of bool, shape (n,)
        Days the tanks fell short; days on which backup could not cover the rest either.
    reliability_time : float or None
        1 - dry days / days with a demand.
    reliability_volume : float or None
        Sum delivered by the tanks / sum asked.
    resilience : float or None
        Number of dry spells / dry days; None when there was no dry day.
    vulnerability : float or None
        Mean over dry spells of the largest one-day shortfall as a share of what was asked.
    capture_efficiency : float or None
        Roof inflow that was kept (not spilled) / rain on the roofs.
    held_back : HeldBack
        Days on which draws took less by their own rules.
    beds : list of BedScore
        How the garden beds fared.

    References
    ----------
    Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18(1):14-20.
    """

    dry_day: Flags
    unserved_day: Flags
    dry_days: DryDays
    unserved_days: int
    dry_spells: list[Spell]
    rainless_spells: list[Spell]
    reliability_time: float | None
    reliability_volume: float | None
    resilience: float | None
    vulnerability: float | None
    years: list[YearRow]
    totals_L: dict[str, float]
    balance_error: float
    capture_efficiency: float | None
    overflow_share: float | None
    loads: int
    cost: float
    days_below_reserve: int
    held_back: HeldBack
    beds: list[BedScore]

    @property
    def longest_dry_spell(self) -> Spell | None:
        """The longest run of dry days, the earlier of equals."""
        return max(self.dry_spells, key=lambda s: s.days, default=None)

    @property
    def longest_rainless_spell(self) -> Spell | None:
        """The longest run of days with less than 1 mm, the earlier of equals."""
        return max(self.rainless_spells, key=lambda s: s.days, default=None)


def score(ledger: Ledger) -> Scores:
    """Read the scores off a ledger."""
    asked, delivered = ledger.flux("asked"), ledger.flux("delivered")
    short = shortfall(ledger)
    short_draw = short > 0.0
    dry: Flags = np.asarray(short_draw.any(axis=0))
    unserved: Flags = np.asarray((ledger.flux("unserved") > SHORT * asked).any(axis=0))
    lowest = lows(ledger)
    full = full_days(ledger)
    lacking = short.sum(axis=0)
    dry_spells = describe(dry, ledger.days, lacking, lowest, full)
    rain = ledger.flux("rain")
    no_rain = describe(rainless(rain), ledger.days, np.zeros_like(rain), lowest, full)
    labels = year_labels(ledger.days, ledger.scenario.run.year_starts)
    held = ledger.flux("held_back") > 0.0
    years = _years(ledger, labels, dry, unserved, np.asarray(held.any(axis=0)), lowest)
    names = ledger.data["draw"].values.tolist()
    totals = _totals(ledger)
    on_roofs, inflow = totals["rain_on_roofs"], totals["inflow"]
    return Scores(
        dry_day=dry,
        unserved_day=unserved,
        dry_days=DryDays(
            total=int(dry.sum()),
            per_year=float(dry.sum() / (dry.size / 365.25)),
            by_draw={name: int(row.sum()) for name, row in zip(names, short_draw, strict=True)},
            by_year={row.year: row.dry_days for row in years},
        ),
        unserved_days=int(unserved.sum()),
        dry_spells=dry_spells,
        rainless_spells=no_rain,
        reliability_time=time_reliability(dry, asked.sum(axis=0) > 0.0),
        reliability_volume=volume_reliability(asked, delivered),
        resilience=resilience(dry),
        vulnerability=vulnerability(dry, lacking, asked.sum(axis=0)),
        years=years,
        totals_L=totals,
        balance_error=closing_error(ledger),
        capture_efficiency=(inflow - totals["overflow"]) / on_roofs if on_roofs > 0.0 else None,
        overflow_share=totals["overflow"] / inflow if inflow > 0.0 else None,
        loads=int(ledger.total("loads")),
        cost=ledger.total("cost"),
        days_below_reserve=int(
            (ledger.flux("reserve_lacking") > float(ledger.data["reserve"]) * SHORT).sum()
        ),
        held_back=_held_back(held, names, labels),
        beds=bed_scores(ledger, labels),
    )


def shortfall(ledger: Ledger) -> Floats:
    """What the tanks could not give each draw, 0 where it is but rounding, shape (draws, n) [L]."""
    asked = ledger.flux("asked")
    short = asked - ledger.flux("delivered")
    return np.where(short > SHORT * asked, short, 0.0)


def lows(ledger: Ledger) -> Floats:
    """Drawable storage after the draws of each day and before backup filled any in, shape (n,) [L]."""
    evenings = ledger.flux("drawable").sum(axis=0)[1:]
    return np.asarray(np.maximum(0.0, evenings - ledger.flux("refill").sum(axis=0)))


def was_full(evenings: Floats, delivered: Floats, refilled: Floats, room: float, rule: str) -> Flags:
    """Days on which the tanks were full.

    Under YAS they spill before the day's draws, which leave a full tank a draw below its lip in the
    evening: there the day's delivery counts with what stood in them then, but not what backup filled in
    after it.

    Parameters
    ----------
    evenings : ndarray, shape (n,)
        Drawable storage at the end of each day [L].
    delivered, refilled : ndarray, shape (n,)
        What the tanks gave on each day, and what backup filled in [L].
    room : float
        Drawable capacity [L].
    rule : str
        "YAS" or "YBS".
    """
    stood = np.maximum(evenings, evenings + delivered - refilled) if rule == "YAS" else evenings
    return np.asarray(stood >= FULL * room)


def full_days(ledger: Ledger) -> Flags:
    """Days of a run on which the tanks were full, shape (n,)."""
    return was_full(
        ledger.flux("drawable").sum(axis=0)[1:],
        ledger.flux("delivered").sum(axis=0),
        ledger.flux("refill").sum(axis=0),
        float(ledger.flux("drawable_capacity").sum()),
        ledger.scenario.run.rule,
    )


def time_reliability(dry: Flags, demand: Flags) -> float | None:
    """Share of the days with a demand that were not dry; None without demand."""
    return 1.0 - float(dry.sum()) / float(demand.sum()) if demand.any() else None


def volume_reliability(asked: Floats, delivered: Floats) -> float | None:
    """Sum delivered / sum asked; None when nothing was asked."""
    return float(delivered.sum() / asked.sum()) if asked.sum() > 0.0 else None


def resilience(dry: Flags) -> float | None:
    """Number of dry spells / dry days: the chance that a dry day is the last of its spell."""
    return len(runs(dry)) / float(dry.sum()) if dry.any() else None


def vulnerability(dry: Flags, lacking: Floats, asked: Floats) -> float | None:
    """Mean over dry spells of the largest one-day shortfall as a share of what was asked."""
    found = runs(dry)
    share = np.divide(lacking, asked, out=np.zeros_like(lacking), where=asked > 0.0)
    return float(np.mean([share[a:b].max() for a, b in found])) if len(found) else None


def _totals(ledger: Ledger) -> dict[str, float]:
    """Sums over the run [L], in the order the water takes."""
    stores = ("storage", "wetting_store", "flush_chamber", "snow_pack")
    storage = np.sum([ledger.flux(name).sum(axis=0) for name in stores], axis=0)
    return {
        "rain_on_roofs": ledger.total("rain_on_roof"),
        "snow_lost": ledger.total("snow_lost"),
        "wetting_loss": ledger.total("wetting_loss"),
        "not_run_off": ledger.total("not_run_off"),
        "gutter_off": ledger.total("gutter_off"),
        "filter_loss": ledger.total("filter_loss"),
        "first_flush": ledger.total("first_flush"),
        "inflow": ledger.total("inflow"),
        "overflow": ledger.total("to_ground"),
        "asked": ledger.total("asked"),
        "held_back": ledger.total("held_back"),
        "delivered": ledger.total("delivered"),
        "backup": ledger.total("supplied"),
        "unserved": ledger.total("unserved"),
        "leak": ledger.total("leak"),
        "evaporation": ledger.total("evaporation"),
        "storage_change": float(storage[-1] - storage[0]),
    }


def year_labels(days: npt.NDArray[np.datetime64], starts: int) -> npt.NDArray[np.int64]:
    """Year each day belongs to when years start in this month; named after the year it ends in."""
    month = days.astype("datetime64[M]").astype(np.int64)
    return (month + (13 - starts) % 12) // 12 + 1970


def _held_back(held: Flags, names: list[str], labels: npt.NDArray[np.int64]) -> HeldBack:
    by_draw = dict(zip(names, held, strict=True))
    return HeldBack(
        total=int(held.any(axis=0).sum()),
        by_draw={name: int(row.sum()) for name, row in by_draw.items()},
        by_year={
            int(year): {name: int(row[labels == year].sum()) for name, row in by_draw.items()}
            for year in np.unique(labels)
        },
    )


def _years(
    ledger: Ledger,
    labels: npt.NDArray[np.int64],
    dry: Flags,
    unserved: Flags,
    held: Flags,
    lowest: Floats,
) -> list[YearRow]:
    starts = np.flatnonzero(np.diff(labels, prepend=labels[0] - 1))
    ends = np.append(starts[1:], labels.size)
    sums = {
        name: np.add.reduceat(ledger.flux(name).reshape(-1, labels.size).sum(axis=0), starts)
        for name in ("rain", "inflow", "to_ground", "asked", "delivered", "supplied")
    }
    return [
        YearRow(
            year=int(labels[a]),
            first=ledger.days[a].item(),
            last=ledger.days[b - 1].item(),
            days=int(b - a),
            rain_mm=float(sums["rain"][i]),
            inflow_L=float(sums["inflow"][i]),
            overflow_L=float(sums["to_ground"][i]),
            asked_L=float(sums["asked"][i]),
            delivered_L=float(sums["delivered"][i]),
            backup_L=float(sums["supplied"][i]),
            dry_days=int(dry[a:b].sum()),
            unserved_days=int(unserved[a:b].sum()),
            held_back_days=int(held[a:b].sum()),
            longest_dry_spell=max((int(e - s) for s, e in runs(dry[a:b])), default=0),
            lowest_storage_L=float(lowest[a:b].min()),
        )
        for i, (a, b) in enumerate(zip(starts, ends, strict=True))
    ]
