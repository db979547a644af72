"""The pump, its suction pipe and its pressure tank as the checks take them, and the words for what is not known."""

from __future__ import annotations

from dataclasses import dataclass, field

from holdwater.site import pipes, pump, water
from holdwater.site.pipes import Pipe

ABOVE = "the height of the pump (site.pump.height)"
FLOW = "the pump's flow (site.pump.flow)"
SUCTION = "the suction pipe's size, pipe and length and the pump's flow (site.suction, site.pump.flow)"
ALTITUDE = "the altitude (place.elevation)"
CUT_IN = "the cut-in pressure (site.pressure_tank.cut_in)"
CUT_OUT = "the cut-out pressure (site.pressure_tank.cut_out)"
VOLUME = "the volume of the pressure tank (site.pressure_tank.volume)"
PRECHARGE = "its pre-charge (site.pressure_tank.precharge)"


@dataclass(frozen=True)
class Pump:
    """The pump and the pipe it draws through.

    Attributes
    ----------
    above : float or None
        Lowest water above the pump, negative where it must lift [mm].
    flow : float or None
        Flow it is to give [L/s].
    curve : tuple of tuple of float
        Points of flow [L/s] and head [mm]; one point is a rated point.
    npsh_required : float or None
        From its maker's sheet [mm].
    power : float or None
        Rated power of the motor [kW].
    draws : float or None
        Electric power it takes [kW].
    single_phase : bool
        Whether the motor runs on single-phase current.
    suction : Pipe or None
        Suction pipe.
    suction_length : float or None
        Its length [mm].
    fittings : dict of str to int
        Of the suction pipe, counted by name.
    """

    above: float | None = None
    flow: float | None = None
    curve: tuple[tuple[float, float], ...] = ()
    npsh_required: float | None = None
    power: float | None = None
    draws: float | None = None
    single_phase: bool = True
    suction: Pipe | None = None
    suction_length: float | None = None
    fittings: dict[str, int] = field(default_factory=dict)

    @property
    def suction_friction(self) -> float | None:
        """Head lost in the suction pipe [mm], None where it cannot be known."""
        if self.suction is None or self.suction_length is None or self.flow is None:
            return None
        whole = pipes.whole_length(self.suction_length, self.fittings, self.suction)
        return pipes.friction(self.flow, self.suction, whole, water.COLD)


@dataclass(frozen=True)
class PressureTank:
    """Pressure tank and switch: volume [L], gauge pressures [kPa]."""

    volume: float | None = None
    precharge: float | None = None
    cut_in: float | None = None
    cut_out: float | None = None

    @property
    def known(self) -> dict[str, float | None]:
        """Its numbers under the words for them, in the order of the fields."""
        return {VOLUME: self.volume, PRECHARGE: self.precharge, CUT_IN: self.cut_in, CUT_OUT: self.cut_out}

    def given(self, altitude: float | None) -> float | None:
        """What it gives between stop and start [L]; without an altitude at sea level, where that is least."""
        if self.volume is None or self.precharge is None or self.cut_in is None or self.cut_out is None:
            return None
        air = water.atmosphere(altitude or 0.0)
        return pump.drawdown(self.volume, self.precharge, self.cut_in, self.cut_out, air)
