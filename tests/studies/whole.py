"""Random holdings with everything the daily loop knows, and random weather with frost and sun; all invented."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import strategies as st

from holdwater.weather.record import Provenance, Record, daily_dataset
from tests.properties.strategies import holdings

FIRST_DAY = (
    "2000-12-22"  # a year ends soon after, and the valves of `links` close in the January that follows
)
CROPS = ("tomato", "green bean", "lettuce")


@st.composite
def whole_holdings(draw: st.DrawFn) -> dict[str, Any]:
    """Parts as of `holdings`, with beds, open tanks, gutter seasons, saving steps, animals and other backup."""
    parts = draw(holdings())
    names = [tank["name"] for tank in parts["tank"]]
    for tank in parts["tank"]:
        tank["evaporation_factor"] = draw(st.sampled_from([0.0, 0.0, 1.1]))
    for roof in parts["roof"]:
        roof["snow_lost"] = draw(st.sampled_from([0.0, 0.25]))
        roof |= draw(st.sampled_from([{}, {"collects": {"from": "12-28", "to": "01-20"}}]))
        if len(names) > 1 and draw(st.booleans()):
            roof["feeds"] = {names[0]: 0.25, names[1]: 0.75}
    for b in range(draw(st.integers(0, 2))):
        parts["draw"].append(bed(draw, b, names))
    if draw(st.booleans()):
        parts["draw"].append(
            {
                "name": "house",
                "kind": "household",
                "people": draw(st.sampled_from([1, 2.5, 4])),
                "per_person": "90 L/day",
                "steps": [{"below": "40 %", "per_person": "60 L/day"}],
                "priority": 1,
            }
        )
    if draw(st.booleans()):
        parts["draw"].append({"name": "goats", "kind": "livestock", "animals": {"doe, dry": 6}})
    beds = [d["name"] for d in parts["draw"] if d["kind"] == "garden"]
    for roof in parts["roof"]:
        if beds and "first_flush" in roof and draw(st.booleans()):
            roof["first_flush"] = roof["first_flush"] | {"to": beds[0]}
    parts["backup"] = draw(st.sampled_from([[], [WELL], [HAULER], [WELL, HAULER], [MAINS, HAULER], [MAINS]]))
    return parts


def bed(draw: st.DrawFn, number: int, names: list[str]) -> dict[str, Any]:
    """A bed that grows in the days of the record."""
    return {
        "name": f"bed {number}",
        "kind": "garden",
        "area": f"{draw(st.floats(2.0, 200.0))} m2",
        "crop": draw(st.sampled_from(CROPS)),
        "planted": draw(st.sampled_from(["12-24", "01-10"])),
        "soil": "sandy loam",
        "method": draw(st.sampled_from(["drip", "sprinkler"])),
        "from_tanks": draw(st.lists(st.sampled_from(names), min_size=1, max_size=len(names), unique=True)),
        **draw(st.sampled_from([{}, {"stops_below": "30 %"}, {"refill_to": 0.8}, {"rain_fed": True}])),
    }


WELL = {"name": "well", "kind": "direct", "per_day": "300 L/day", "cost_per_volume": "2 per m3"}
MAINS = {
    "name": "mains",
    "kind": "refill",
    "into": "tank 0",
    "starts_below": "25 %",
    "fills_to": "60 %",
    "per_day": "700 L/day",
    "cost_per_volume": "3 per m3",
}
HAULER = {
    "name": "hauler",
    "kind": "refill",
    "into": "tank 0",
    "starts_below": "20 %",
    "load": "900 L",
    "cost_per_load": 75,
    "lead_days": 2,
}

seeds = st.integers(0, 10_000)
rains = st.lists(st.one_of(st.just(0.0), st.floats(0.0, 120.0)), min_size=15, max_size=50)


def sky(rain: list[float], seed: int) -> Record:
    """A record with this rain [mm], frosty nights and some sun."""
    start = np.datetime64(FIRST_DAY)
    drawn = np.random.default_rng(seed)
    n = len(rain)
    low = drawn.normal(drawn.choice([-2.0, 6.0]), 4.0, n)
    data = daily_dataset(
        np.arange(start, start + n),
        np.asarray(rain, dtype=float),
        np.ones(n, dtype=np.int8),
        t_min=low,
        t_max=low + drawn.uniform(1.0, 14.0, n),
        et0=drawn.uniform(0.0, 7.0, n),
    )
    return Record(data, Provenance(source="invented for a test"))
