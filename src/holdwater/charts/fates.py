"""Shares of a hundred: one base for every chart that says where the water came from and where it went.

The base is all water of the run: rain on the roofs, backup, and what was taken out of storage.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from holdwater.charts.reading import Numbers, daily
from holdwater.ledger import Ledger

STORES = ("storage", "wetting_store", "flush_chamber", "snow_pack")
BEFORE_TANKS = ("snow_lost", "wetting_loss", "not_run_off", "gutter_off", "filter_loss", "first_flush")
SMALLEST_TOLD = 0.002
"""Share of all water below which a source is not named in a title."""


def to_beds(ledger: Ledger) -> Numbers:
    """First-flush water that is led to garden beds, shape (n,) [L]."""
    beds = set(ledger.data["bed"].values.tolist())
    led = [roof.first_flush is not None and roof.first_flush.to in beds for roof in ledger.scenario.roof]
    water: Numbers = ledger.flux("first_flush")[led].sum(axis=0)
    return water


def stored(ledger: Ledger) -> Numbers:
    """Water in tanks, snow, wet roofs and first-flush chambers at every midnight, shape (n + 1,) [L]."""
    total: Numbers = np.sum([daily(ledger, name) for name in STORES], axis=0)
    return total


def base(rain: float, backup: float, out_of_storage: float) -> str:
    """Name all water that came, after "of every 100 gal": "of rain and backup"."""
    everything = rain + backup + out_of_storage
    named = (("rain", rain), ("backup", backup), ("stored water", out_of_storage))
    said = [name for name, litres in named if litres > SMALLEST_TOLD * everything]
    return f"of {' and '.join([', '.join(said[:-1]), said[-1]] if len(said) > 1 else said)}"


def apportioned(parts: Sequence[float], total: int = 100) -> list[int]:
    """Whole shares that add up to a total: what is left goes where rounding down took most."""
    whole = sum(parts)
    if whole <= 0.0:
        return [0 for _ in parts]
    exact = [total * part / whole for part in parts]
    shares = [int(share) for share in exact]
    by_rest = sorted(range(len(parts)), key=lambda i: shares[i] - exact[i])
    for i in by_rest[: total - sum(shares)]:
        shares[i] += 1
    return shares


def of_100(parts: Sequence[float]) -> list[str]:
    """Whole shares of a hundred in words: "73", "less than 1"."""
    return [
        f"{share}" if share or not part else "less than 1"
        for share, part in zip(apportioned(parts), parts, strict=True)
    ]
