"""Scenario and weather to ledger."""

from __future__ import annotations

import math

import numpy as np

from holdwater import day
from holdwater.errors import InputError
from holdwater.holding import Holding, Phase, build
from holdwater.ledger import Floats, Ledger, check_signs, closing_error, dataset
from holdwater.scenario.schema import Scenario
from holdwater.weather.record import Record

ROUNDING = 1e-9
"""Share of what was asked below which a difference is rounding, not want."""


def simulate(scenario: Scenario, record: Record) -> Ledger:
    """Run a holding through its weather, one day after the other.

    Parameters
    ----------
    scenario : Scenario
        Checked holding; `run` says which days, which rule, from which storage.
    record : Record
        Daily weather without missing rain on the days of the run.

    Returns
    -------
    Ledger
        Closed to 1e-9 of the water handled.

    Raises
    ------
    InputError
        The record does not cover the run, or rain is missing on some of its days.
    LedgerError
        The account does not close: a bug.
    """
    cut = covering(scenario, record)
    holding = build(scenario, cut.days)
    kept, states = run(scenario, holding, cut)
    ledger = _ledger(scenario, cut, holding, kept, states)
    check_signs(ledger)
    closing_error(ledger)
    return ledger


def covering(scenario: Scenario, record: Record) -> Record:
    """The record cut to the run.

    Raises
    ------
    InputError
        Names the days the record lacks.
    """
    first, last = scenario.run.from_ or record.first, scenario.run.to or record.last
    if first < record.first or last > record.last:
        raise InputError(
            f"the run asks for {first} to {last}, but the weather covers {record.first} to {record.last};"
            " change run.from and run.to, or bring a longer record"
        )
    cut = record.between(first, last)
    missing = cut.days[np.isnan(cut.data["rain"].values)]
    if missing.size:
        raise InputError(
            f"rain is missing on {missing.size} of {cut.days.size} days, the first on {missing[0]};"
            ' say what to do with them: weather.missing_days = "zero", "climate" or "neighbour"'
        )
    return cut


def run(scenario: Scenario, holding: Holding, record: Record) -> tuple[day.Today, day.State]:
    """Run the days phase by phase and keep every flux [..][n] and state [..][n + 1]."""
    n = record.days.size
    state = holding.opening_state(scenario)
    today, kept = _blank(holding, 1), _blank(holding, n)
    states = day.State(*([[row[0], *[0.0] * n] for row in table] for table in state))
    before: Phase | None = None
    for phase in holding.phases:
        if before is not None:
            day.regroup(before.tables, phase.tables, state, 1)
        day.run_days(
            phase.first,
            phase.last,
            record.data["rain"].values.tolist(),
            holding.roofs,
            holding.tanks,
            phase.tables,
            holding.uses,
            holding.helpers,
            state,
            today,
            scenario.run.rule == "YBS",
            kept,
            states,
            True,
            1,
        )
        before = phase
    return kept, states


def _blank(holding: Holding, columns: int) -> day.Today:
    """Empty tables of every flux."""
    roofs, tanks, draws = len(holding.roofs.area), len(holding.vessels), len(holding.draws)
    rows = {
        **dict.fromkeys(
            ("onto_roof", "gutter_off", "wetting_loss", "not_run_off", "filter_loss", "diverted"), roofs
        ),
        **dict.fromkeys(("first_flush", "roof_inflow"), roofs),
        **dict.fromkeys(("wanted", "held_back", "delivered", "backup_served"), draws),
        "direct": len(holding.direct),
        **dict.fromkeys(("supplied", "loads"), len(holding.refills)),
    }
    return day.Today(*([[0.0] * columns for _ in range(rows.get(name, tanks))] for name in day.Today._fields))


def _ledger(
    scenario: Scenario, record: Record, holding: Holding, kept: day.Today, states: day.State
) -> Ledger:
    """Label what the loop kept, and derive what follows from it."""
    n = record.days.size

    def table(rows: list[list[float]], columns: int = n) -> Floats:
        return np.array(rows, dtype=float).reshape(len(rows), columns)

    columns = {name: table(rows) for name, rows in zip(day.Today._fields, kept, strict=True)}
    columns["rain"] = record.data["rain"].values
    columns["rain_on_roof"] = columns.pop("onto_roof")
    below = table(states.below, n + 1)
    opening = _opening_storage(scenario, holding)
    columns["storage"] = np.concatenate([opening[:, None], columns["storage"]], axis=1)
    columns["drawable"] = columns["storage"] - below
    columns["wetting_store"], columns["flush_chamber"] = (
        table(states.wet, n + 1),
        table(states.chamber, n + 1),
    )
    columns["asked"] = columns["wanted"] - columns["held_back"]
    short = columns["asked"] - columns["delivered"]
    lacks = short - columns["backup_served"]
    columns["unserved"] = np.where(lacks > ROUNDING * columns["asked"], lacks, 0.0)
    columns["to_ground"] = _to_ground(holding, columns["overflow"])
    columns["link_flow"] = np.diff(columns["storage"], axis=1) - (
        columns["inflow"] + columns["received"] + columns["transfer_in"] + columns["refill"]
        - columns["drawn"] - columns["overflow"] - columns["transfer_out"] - columns["leak"]
    )  # fmt: skip
    refills, direct = holding.refills, holding.direct
    columns["supplied"] = np.concatenate([columns["supplied"], columns.pop("direct")])
    columns["loads"] = np.concatenate([columns["loads"], np.zeros((len(direct), n))])
    columns["cost"] = columns["supplied"] * np.array(
        [[b.cost_per_volume or 0.0] for b in (*refills, *direct)]
    ).reshape(-1, 1)
    columns["cost"] += columns["loads"] * np.array(
        [[b.cost_per_load or 0.0] for b in refills] + [[0.0] for _ in direct]
    ).reshape(-1, 1)
    names = {
        "roof": [roof.name for roof in scenario.roof],
        "tank": [tank.name for tank in scenario.tank],
        "draw": [draw.name for draw in holding.draws],
        "backup": [backup.name for backup in (*refills, *direct)],
    }
    reserve = scenario.reserve.volume if scenario.reserve else 0.0
    data = dataset(record.days, names, columns, _constants(holding), reserve)
    return Ledger(data, scenario, record)


def _opening_storage(scenario: Scenario, holding: Holding) -> Floats:
    state, first = holding.opening_state(scenario), holding.phases[0].tables
    return np.array([state.below[t][0] + day.stand(t, 0, first, state) for t in range(len(holding.vessels))])


def _to_ground(holding: Holding, overflow: Floats) -> Floats:
    """Overflow of the tanks whose group spills into no other tank, phase by phase."""
    ground = np.zeros_like(overflow)
    for phase in holding.phases:
        for g, tank in enumerate(phase.tables.spills_from):
            if phase.tables.spills_into[g] < 0:
                ground[tank, phase.first : phase.last] = overflow[tank, phase.first : phase.last]
    return ground


def _constants(holding: Holding) -> dict[str, Floats]:
    """Capacities and stranded volumes of the tanks with every valve as on the last day's links open."""
    groups = max(holding.phases, key=lambda phase: phase.last - phase.first).groups
    stranded_top = {t: v for joined in groups for t, v in joined.stranded_top.items()}
    steps = {t: joined.steps[t] for joined in groups for t in joined.tanks}
    tanks = range(len(holding.vessels))
    return {
        "capacity": np.array([v.capacity for v in holding.vessels]),
        "drawable_capacity": np.array([math.fsum(s.size * s.share for s in steps[t]) for t in tanks]),
        "stranded_top": np.array([stranded_top[t] for t in tanks]),
        "stranded_bottom": np.array([v.dead for v in holding.vessels]),
    }
