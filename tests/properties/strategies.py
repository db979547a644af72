"""Random holdings and random rain for the property tests."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

litres = st.floats(50.0, 20_000.0).map(lambda v: round(v, 3))
shares = st.floats(0.0, 1.0).map(lambda v: round(v, 3))
rains = st.lists(st.one_of(st.just(0.0), st.floats(0.0, 120.0)), min_size=1, max_size=60)
DAYS = [f"2001-01-{d:02d}" for d in range(1, 29)]


@st.composite
def tanks(draw: st.DrawFn, count: int) -> list[dict[str, Any]]:
    made = []
    for t in range(count):
        lip = draw(st.floats(500.0, 3000.0))
        tank: dict[str, Any] = {
            "name": f"tank {t}",
            "overflow": f"{lip} mm",
            "base": f"{draw(st.floats(0.0, 600.0))} mm",
            "outlet": f"{draw(st.floats(0.0, 0.3)) * lip} mm",
            "leak": f"{draw(st.sampled_from([0.0, 0.0, 25.0, 400.0]))} L/day",
        }
        if draw(st.booleans()):
            tank["capacity"] = f"{draw(litres)} L"
        else:  # a shape of three straight pieces
            volumes = sorted(draw(st.lists(litres, min_size=3, max_size=3)))
            rows = zip([0.0, lip / 3, lip / 2, lip], [0.0, *volumes], strict=True)
            tank["levels"] = [{"level": f"{level} mm", "volume": f"{v} L"} for level, v in rows]
        made.append(tank)
    return made


@st.composite
def links(draw: st.DrawFn, count: int) -> list[dict[str, Any]]:
    if count < 2 or not draw(st.booleans()):
        return []
    size = draw(st.integers(2, count))
    link: dict[str, Any] = {"tanks": [f"tank {t}" for t in range(size)]}
    if draw(st.booleans()):
        first = draw(st.integers(0, 20))
        last = draw(st.integers(first, 27))
        link["closed"] = [{"from": DAYS[first], "to": DAYS[last]}]
    return [link]


@st.composite
def holdings(draw: st.DrawFn) -> dict[str, Any]:
    """Parts for `tests.holdings.holding`: everything the daily loop knows, in any mixture."""
    count = draw(st.integers(1, 4))
    joined = draw(links(count))
    size = len(joined[0]["tanks"]) if joined else 0
    made = draw(tanks(count))
    for t in range(size or 1, count):  # a cascade towards lower numbers cannot loop
        made[t]["overflow_to"] = draw(st.sampled_from(["ground", *(f"tank {u}" for u in range(t))]))
    names = [tank["name"] for tank in made]
    roofs = [
        {
            "name": f"roof {r}",
            "area": f"{draw(st.floats(1.0, 500.0))} m2",
            "runoff_coefficient": draw(shares),
            "wetting_loss": f"{draw(st.sampled_from([0.0, 0.5, 2.0]))} mm",
            "filter_efficiency": draw(st.sampled_from([1.0, 0.9])),
            "feeds": draw(st.sampled_from(names)),
            **draw(st.sampled_from([{}, {"first_flush": {"volume": "150 L", "drains_in": "3 days"}}])),
        }
        for r in range(draw(st.integers(1, 3)))
    ]
    draws = [
        {
            "name": f"draw {d}",
            "kind": "fixed",
            "per_day": f"{draw(st.floats(0.0, 2000.0))} L/day",
            "from_tanks": draw(st.lists(st.sampled_from(names), min_size=1, max_size=count, unique=True)),
            "may_use_reserve": draw(st.booleans()),
            **draw(st.sampled_from([{}, {"stops_below": "30 %"}, {"stops_below": "500 L"}])),
        }
        for d in range(draw(st.integers(1, 3)))
    ]
    parts: dict[str, Any] = {
        "run": {"rule": draw(st.sampled_from(["YAS", "YBS"])), "start_full": draw(shares)},
        "roof": roofs,
        "tank": made,
        "link": joined,
        "draw": draws,
    }
    if draw(st.booleans()):
        parts["reserve"] = {"volume": f"{draw(st.floats(0.0, 300.0))} L"}
    if count > size >= 2 and draw(st.booleans()):
        parts["transfer"] = [
            {
                "name": "pump",
                "from_tank": names[-1],
                "to_tank": names[0],
                "starts_below": "60 %",
                "per_day": f"{draw(litres)} L/day",
            }
        ]
    parts["backup"] = draw(st.sampled_from([[], [WELL], [HAULER], [WELL, HAULER]]))
    return parts


WELL = {"name": "well", "kind": "direct", "per_day": "300 L/day"}
HAULER = {
    "name": "hauler",
    "kind": "refill",
    "into": "tank 0",
    "starts_below": "20 %",
    "load": "900 L",
    "lead_days": 2,
}


@st.composite
def one_tank(draw: st.DrawFn) -> dict[str, Any]:
    """One roof with a first-flush chamber, one tank, one constant draw: no rule that watches a level."""
    return {
        "run": {"start_full": draw(shares)},
        "roof": [
            {
                "name": "roof",
                "area": f"{draw(st.floats(5.0, 500.0))} m2",
                "runoff_coefficient": draw(st.floats(0.1, 1.0)),
                "wetting_loss": "0.5 mm",
                "first_flush": {"volume": f"{draw(st.floats(1.0, 300.0))} L", "drains_in": "2 days"},
                "feeds": "tank",
            }
        ],
        "tank": [{"name": "tank", "capacity": f"{draw(litres)} L", "overflow": "2 m", "outlet": "100 mm"}],
        "draw": [{"name": "house", "kind": "fixed", "per_day": f"{draw(st.floats(1.0, 3000.0))} L/day"}],
    }


CROPS: list[dict[str, Any]] = [
    {"crop": "lettuce", "planted": "12-20"},
    {"crop": "onion", "planted": "10-15"},
    {"crop": "green bean", "planted": "01-10"},
    {"crop": "tomato", "planted": "01-20"},
    {"crop": "turf, cool season"},
]
WATERINGS: list[dict[str, Any]] = [
    {},
    {"rain_fed": True},
    {"trigger": 0.2, "refill_to": 0.95},
    {"method": "sprinkler", "refill_to": 0.9},
    {"stops_below": "40 %"},
    {"mulch": 0.7, "efficiency": 0.5},
]
LIVING: list[dict[str, Any]] = [
    {
        "name": "house",
        "kind": "household",
        "people": 3,
        "per_person": "100 L/day",
        "steps": [{"below": "60 %", "per_person": "60 L/day"}, {"below": "200 L", "per_person": "10 L/day"}],
        "guests": [{"from": "2001-01-05", "to": "2001-01-08", "people": 2}],
    },
    {"name": "flock", "kind": "livestock", "animals": {"hen, laying": 60, "doe": 3}},
]


@st.composite
def weathers(draw: st.DrawFn) -> dict[str, list[float]]:
    """Rain or snow, frost and heat: columns of a record."""
    rain = draw(rains)
    size = len(rain)
    mean = draw(st.lists(st.floats(-15.0, 32.0), min_size=size, max_size=size))
    half = draw(st.lists(st.floats(0.0, 12.0), min_size=size, max_size=size))
    return {
        "rain": rain,
        "t_min": [m - h for m, h in zip(mean, half, strict=True)],
        "t_max": [m + h for m, h in zip(mean, half, strict=True)],
    }


@st.composite
def beds(draw: st.DrawFn, name: str) -> dict[str, Any]:
    """A garden draw."""
    return {
        "name": name,
        "kind": "garden",
        "area": f"{draw(st.floats(1.0, 300.0))} m2",
        "soil": draw(st.sampled_from(["sand", "loam", "clay"])),
        **draw(st.sampled_from(CROPS)),
        **draw(st.sampled_from(WATERINGS)),
    }


@st.composite
def living(draw: st.DrawFn) -> dict[str, Any]:
    """A holding with snow on its roofs, open tanks, beds, a household that saves, and animals."""
    parts = draw(holdings())
    parts["place"] = {"latitude": draw(st.sampled_from([-35.0, 0.0, 48.0])), "longitude": 0.0}
    for tank in parts["tank"]:
        tank["evaporation_factor"] = draw(st.sampled_from([0.0, 0.8, 1.3]))
    for roof in parts["roof"]:
        roof["snow_lost"] = draw(st.sampled_from([0.0, 0.3, 1.0]))
    garden = [draw(beds(f"bed {b}")) for b in range(draw(st.integers(0, 2)))]
    extra = draw(st.lists(st.sampled_from(LIVING), unique_by=lambda use: use["name"]))
    parts["draw"] = [*parts["draw"], *garden, *extra]
    for roof in parts["roof"]:
        if garden and "first_flush" in roof and draw(st.booleans()):
            roof["first_flush"] = roof["first_flush"] | {"to": garden[0]["name"]}
    return parts
