"""The account: every flux and storage per day, per roof, tank and draw, and its closing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import xarray as xr

from holdwater.errors import LedgerError
from holdwater.scenario.schema import Scenario
from holdwater.weather.record import Record

Floats = npt.NDArray[np.float64]

CLOSES_WITHIN = 1e-9


class Entry(NamedTuple):
    """One line of the account: what it runs over, what it is called, its unit."""

    over: str
    long_name: str
    units: str = "L"


ENTRIES: dict[str, Entry] = {
    "rain": Entry("", "precipitation", "mm"),
    "et0": Entry("", "reference evapotranspiration", "mm"),
    "rain_on_roof": Entry("roof", "rain and snow on the plan area of the roof"),
    "snow_lost": Entry("roof", "snow that slid or blew off the roof"),
    "wetting_loss": Entry("roof", "water that wetted the roof and dried off"),
    "not_run_off": Entry("roof", "share of the rain that never reaches the gutter"),
    "gutter_off": Entry("roof", "runoff while the gutter was not connected"),
    "filter_loss": Entry("roof", "runoff lost at the filter"),
    "diverted": Entry("roof", "runoff into the first-flush chamber"),
    "first_flush": Entry("roof", "first flush drained away"),
    "roof_inflow": Entry("roof", "water the roof sends to the tanks"),
    "inflow": Entry("tank", "inflow from roofs"),
    "received": Entry("tank", "overflow received from other tanks"),
    "transfer_in": Entry("tank", "water pumped in from another tank"),
    "transfer_out": Entry("tank", "water pumped out to another tank"),
    "refill": Entry("tank", "backup water filled in"),
    "drawn": Entry("tank", "water taken by draws"),
    "overflow": Entry("tank", "water spilled over the lip"),
    "to_ground": Entry("tank", "overflow to the ground"),
    "leak": Entry("tank", "leak"),
    "evaporation": Entry("tank", "evaporation from an open tank"),
    "link_flow": Entry("tank", "net flow in through the link"),
    "wanted": Entry("draw", "water wanted"),
    "held_back": Entry("draw", "water not asked for because the draw stops below its level"),
    "asked": Entry("draw", "water asked of the tanks"),
    "delivered": Entry("draw", "water delivered by the tanks"),
    "backup_served": Entry("draw", "water served by direct backup"),
    "unserved": Entry("draw", "water neither tanks nor backup could give"),
    "crop_need": Entry("bed", "crop evapotranspiration without stress", "mm"),
    "crop_water": Entry("bed", "water the crop took", "mm"),
    "rain_kept": Entry("bed", "rain and melt that counts for the root zone", "mm"),
    "rain_ignored": Entry("bed", "rain that dried off without reaching the root zone", "mm"),
    "flushed": Entry("bed", "first-flush water into the root zone", "mm"),
    "watered": Entry("bed", "irrigation that reached the root zone", "mm"),
    "deep_percolation": Entry("bed", "water that ran out below the roots", "mm"),
    "stress": Entry("bed", "water stress coefficient Ks, 1 without stress", "1"),
    "stressed": Entry("bed", "1 on a day the crop suffers from want of water", "1"),
    "growing": Entry("bed", "1 while the crop stands", "1"),
    "ready": Entry("bed", "water the crop draws without stress, RAW", "mm"),
    "reserve_lacking": Entry("", "water missing from the reserve at the end of the day"),
    "supplied": Entry("backup", "backup water"),
    "loads": Entry("backup", "loads brought", "1"),
    "cost": Entry("backup", "cost of backup water", "1"),
}
STATES: dict[str, Entry] = {
    "wetting_store": Entry("roof", "water held by the wetted roof"),
    "flush_chamber": Entry("roof", "water in the first-flush chamber"),
    "snow_pack": Entry("roof", "water in the snow on the roof"),
    "depletion": Entry("bed", "water missing in the root zone at the end of the day", "mm"),
    "storage": Entry("tank", "water in the tank"),
    "drawable": Entry("tank", "water above the outlet"),
}


@dataclass(frozen=True)
class Ledger:
    """The result of a run.

    Attributes
    ----------
    data : xarray.Dataset
        Fluxes on `time` (n days), states on `edge` (n + 1), as `ENTRIES` and `STATES` list them;
        and `capacity`, `drawable_capacity`, `stranded_top`, `stranded_bottom` per tank, `reserve` [L].
    scenario, record
        What was run.
    warnings : list of str
        What the user should know before trusting the run.
    """

    data: xr.Dataset
    scenario: Scenario
    record: Record
    warnings: list[str] = field(default_factory=list)

    def flux(self, name: str) -> Floats:
        """One entry, shape (things, n) or (n,) [L]."""
        values: Floats = self.data[name].values
        return values

    def total(self, name: str) -> float:
        """Sum of one entry over everything and all days, added day by day [L]."""
        values = self.flux(name).sum(axis=0)
        return float(np.cumsum(values)[-1]) if values.size else 0.0

    @property
    def days(self) -> npt.NDArray[np.datetime64]:
        """The days of the run, shape (n,)."""
        return self.data["time"].values.astype("datetime64[D]")

    @property
    def period(self) -> tuple[dt.date, dt.date]:
        """First and last day of the run."""
        return self.days[0].item(), self.days[-1].item()


def dataset(
    days: npt.NDArray[np.datetime64],
    names: Mapping[str, list[str]],
    columns: Mapping[str, Floats],
    per_tank: Mapping[str, Floats],
    reserve: float,
) -> xr.Dataset:
    """Label the columns of a run with CF names and units.

    Parameters
    ----------
    names : mapping
        Names of the roofs, tanks, draws and backups.
    columns : mapping of str to ndarray
        Every entry and state, shape (things, n) or (things, n + 1) [L].
    per_tank : mapping of str to ndarray
        Constants of the tanks, shape (tanks,) [L].
    reserve : float
        Volume no ordinary draw may touch [L].
    """
    variables: dict[str, tuple[tuple[str, ...], Any, dict[str, str]]] = {}
    for entries, axis in ((ENTRIES, "time"), (STATES, "edge")):
        for name, entry in entries.items():
            if name in columns:
                dims = (entry.over, axis) if entry.over else (axis,)
                attributes = {"long_name": entry.long_name, "units": entry.units}
                if axis == "time" and entry.units == "L":
                    attributes["cell_methods"] = "time: sum"
                variables[name] = (dims, columns[name], attributes)
    for name, values in per_tank.items():
        variables[name] = (("tank",), values, {"long_name": name.replace("_", " "), "units": "L"})
    variables["reserve"] = ((), np.float64(reserve), {"long_name": "reserve", "units": "L"})
    edges = np.append(days, days[-1:] + 1)
    return xr.Dataset(
        variables,
        coords={
            "time": ("time", days.astype("datetime64[s]"), {"standard_name": "time"}),
            "edge": (
                "edge",
                edges.astype("datetime64[s]"),
                {"long_name": "midnight at which a state stands"},
            ),
            **{over: (over, labels) for over, labels in names.items()},
        },
        attrs={"Conventions": "CF-1.11", "title": "holdwater ledger"},
    )


def closing_error(ledger: Ledger) -> float:
    """Largest closing error of the account, as a share of the water handled.

    Every roof, tank and draw is closed on every day, all together on every day, and the whole run:
    opening storage + every inflow - every outflow - closing storage, divided by opening storage +
    every inflow (at least 1 L). Flow through links must cancel over the tanks that are joined.

    Raises
    ------
    LedgerError
        A storage or flux is negative or not a number, or the account does not close within 1e-9.
    """
    parts = _accounts(ledger)
    worst = 0.0
    for opening, inflow, outflow, closing in parts.values():
        handled = np.maximum(1.0, opening + inflow)
        worst = max(worst, float(np.abs((opening + inflow - outflow - closing) / handled).max(initial=0.0)))
    if not worst <= CLOSES_WITHIN:
        raise LedgerError(f"the ledger does not close: error {worst:.3g} of the water handled")
    return worst


def check_signs(ledger: Ledger) -> None:
    """Raise if any flux or storage is negative or not a number.

    Raises
    ------
    LedgerError
        Names the entry: such a volume is a bug.
    """
    for name in (*ENTRIES, *STATES):
        if name in ledger.data and name not in ("link_flow", "rain"):
            values = ledger.flux(name)
            if values.size and not values.min() >= 0.0:
                raise LedgerError(f"the ledger holds a negative or undefined volume: {name} {values.min()}")


def _accounts(ledger: Ledger) -> dict[str, tuple[Floats, Floats, Floats, Floats]]:
    """Opening, in, out and closing of every account, each of shape (.., n) or (1,) for the run."""
    f = ledger.flux
    storage = f("storage")
    roof_losses = f("snow_lost") + f("wetting_loss") + f("not_run_off") + f("gutter_off")
    roof_losses = roof_losses + f("filter_loss") + f("first_flush")
    held = f("wetting_store") + f("flush_chamber") + f("snow_pack")
    tank_in = f("inflow") + f("received") + f("transfer_in") + f("refill")
    tank_out = f("drawn") + f("overflow") + f("transfer_out") + f("leak") + f("evaporation")
    opening, closing = (
        held[:, :-1].sum(0) + storage[:, :-1].sum(0),
        held[:, 1:].sum(0) + storage[:, 1:].sum(0),
    )
    in_all = f("rain_on_roof").sum(0) + f("refill").sum(0) + f("backup_served").sum(0)
    out_all = roof_losses.sum(0) + f("delivered").sum(0) + f("backup_served").sum(0)
    out_all = out_all + f("leak").sum(0) + f("evaporation").sum(0) + f("to_ground").sum(0)
    none = np.zeros_like(in_all)
    backup = none + f("supplied").sum(0)
    return {
        "roof": (held[:, :-1], f("rain_on_roof"), roof_losses + f("roof_inflow"), held[:, 1:]),
        "roofs to tanks": (none, f("roof_inflow").sum(0), f("inflow").sum(0), none),
        "tank": (storage[:, :-1], tank_in + f("link_flow"), tank_out, storage[:, 1:]),
        "links": (storage[:, :-1].sum(0), none, f("link_flow").sum(0), storage[:, :-1].sum(0)),
        "single tanks": _single(ledger),
        "overflow": (none, f("overflow").sum(0), f("to_ground").sum(0) + f("received").sum(0), none),
        "draws to tanks": (none, f("delivered").sum(0), f("drawn").sum(0), none),
        "draw": (
            0.0 * f("asked"),
            f("asked"),
            f("delivered") + f("backup_served") + f("unserved"),
            0.0 * f("asked"),
        ),
        "bed": _beds(ledger),
        "backup": (none, backup, f("refill").sum(0) + f("backup_served").sum(0), none),
        "all": (opening, in_all, out_all, closing),
        "run": (opening[:1], in_all.sum(keepdims=True), out_all.sum(keepdims=True), closing[-1:]),
    }


def _beds(ledger: Ledger) -> tuple[Floats, Floats, Floats, Floats]:
    """The soil's own account: what is missing grows by what the crop takes and shrinks by what comes in [mm]."""
    f = ledger.flux
    came = f("rain_kept") + f("flushed") + f("watered")
    depletion = f("depletion")
    return depletion[:, :-1], f("crop_water") + f("deep_percolation"), came, depletion[:, 1:]


def _single(ledger: Ledger) -> tuple[Floats, Floats, Floats, Floats]:
    """A tank on no link has no flow through one."""
    linked = {name for link in ledger.scenario.link for name in link.tanks}
    alone = [t for t, tank in enumerate(ledger.scenario.tank) if tank.name not in linked]
    storage = ledger.flux("storage")[alone, :-1]
    return storage, 0.0 * storage, ledger.flux("link_flow")[alone], storage
