"""Scenario and weather to ledger."""

from __future__ import annotations

import numpy as np

from holdwater import day
from holdwater.errors import InputError
from holdwater.holding import Holding, build
from holdwater.label import label
from holdwater.ledger import Ledger, check_signs, closing_error
from holdwater.phases import Phase
from holdwater.scenario.schema import Scenario
from holdwater.sky import Weather, weather
from holdwater.weather.record import Record


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
    met = weather(scenario, cut)
    holding = build(scenario, cut.days, met)
    kept, states = run(scenario, holding, met)
    ledger = label(scenario, cut, holding, met, kept, states)
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


def run(
    scenario: Scenario, holding: Holding, met: Weather, state: day.State | None = None
) -> tuple[day.Today, day.State]:
    """Run the days phase by phase and keep every flux [..][n] and state [..][n + 1].

    Parameters
    ----------
    state : day.State, optional
        What it starts from, in place of the scenario's own; its tables end as the state after the last day.
    """
    n = met.et0.size
    state = holding.opening_state(scenario) if state is None else state
    today, kept = blank(holding), _kept(holding, n)
    states = day.State(*([[row[0], *[0.0] * n] for row in table] for table in state))
    before: Phase | None = None
    for phase in holding.phases:
        if before is not None:
            day.regroup(before.tables, phase.tables, state, today, 1)
        day.run_days(
            phase.first,
            phase.last,
            met.sky,
            holding.roofs,
            holding.tanks,
            phase.tables,
            holding.uses,
            holding.beds,
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


def blank(holding: Holding) -> day.Today:
    """Tables for the fluxes of one day."""
    return day.Today(*([[0.0] for _ in range(rows)] for rows in _rows(holding)))


def _kept(holding: Holding, n: int) -> day.Today:
    """Tables for the fluxes of all days; without rows where this holding has no such flux."""
    absent = {"arriving", "left", "opening", "lacks", "thirst", "dried", "top"}
    absent |= set() if holding.helpers.transfer_from else {"transfer_in", "transfer_out"}
    absent |= set() if holding.refills else {"refill"}
    absent |= set() if holding.tanks.leaky else {"leak", "evaporation"}
    absent |= set() if holding.direct else {"backup_served"}
    kept = zip(day.Today._fields, _rows(holding), strict=True)
    return day.Today(*([] if name in absent else [[0.0] * n for _ in range(rows)] for name, rows in kept))


def _rows(holding: Holding) -> list[int]:
    """How many rows each table of `day.Today` has."""
    roof = ("onto_roof", "snow_lost", "gutter_off", "wetting_loss", "not_run_off", "filter_loss", "diverted")
    rows = {
        **dict.fromkeys((*roof, "first_flush", "roof_inflow"), len(holding.roofs.area)),
        **dict.fromkeys(("wanted", "held_back", "delivered", "lacks", "backup_served"), len(holding.draws)),
        **dict.fromkeys(("crop_water", "dried", "flushed", "watered"), len(holding.plans)),
        **dict.fromkeys(("deep_percolation", "top", "thirst", "stressed"), len(holding.plans)),
        "direct": len(holding.direct),
        **dict.fromkeys(("supplied", "loads"), len(holding.refills)),
    }
    return [rows.get(name, len(holding.vessels)) for name in day.Today._fields]
