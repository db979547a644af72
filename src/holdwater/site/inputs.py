"""The scenario's `[site]` table: pipes, pump, storm and ground as their owner knows them; every key optional."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from holdwater.scenario.quantities import Area, Base, Height, Temperature, Volume
from holdwater.scenario.schema import Name, Part
from holdwater.site import pipes
from holdwater.site.pipes import Pipe
from holdwater.site.quantities import Bearing, Intensity, Mass, PipeFlow, Power, Pressure

SomeHeight = Annotated[Height, Field(gt=0)]
SomeFlow = Annotated[PipeFlow, Field(gt=0)]
SomePower = Annotated[Power, Field(gt=0)]
SomeRain = Annotated[Intensity, Field(gt=0)]
Count = Annotated[int, Field(ge=1, le=100)]


class Storm(Part):
    """Design storm of the place."""

    in_5_minutes: SomeRain | None = None
    """Rain intensity over 5 minutes."""
    in_60_minutes: SomeRain | None = None
    """Rain intensity over 60 minutes."""
    source: str | None = None
    """Where the intensities come from, and their return period."""


class PipeRun(Part):
    """What every run of pipe has in common: kind and nominal size, or its inside diameter."""

    pipe: str | None = None
    """Kind of pipe, such as "PVC schedule 40" or "PE"."""
    size: str | None = None
    """Nominal size, such as "1 1/2 in"."""
    inside: SomeHeight | None = None
    """Inside diameter, for pipe that is not in the table."""

    def chosen(self) -> Pipe | None:
        """The pipe meant, None where it is not said.

        Raises
        ------
        InputError
            The table has no such pipe.
        """
        if self.inside is not None:
            return pipes.given(self.inside, self.pipe or "", self.size or "")
        return pipes.pipe(self.pipe, self.size) if self.pipe and self.size else None


class LongRun(PipeRun):
    """A run of pipe whose friction counts."""

    length: Height | None = None
    """Length of the pipe."""
    fittings: dict[str, Annotated[int, Field(ge=0, le=1000)]] = Field(default_factory=dict)
    """Fittings by name and number, such as { "90 elbow" = 4, "ball valve" = 2 }."""


class Gutter(Part):
    """Gutter of one roof."""

    roof: Name
    """The roof it drains."""
    shape: Literal["half round", "box"] = "half round"
    """Cross-section; for a K-style gutter write "box" and give its mean width."""
    width: SomeHeight | None = None
    """Width across the top."""
    depth: SomeHeight | None = None
    """Depth of a box gutter."""
    length: Height | None = None
    """Whole length along the eave."""
    runs: Count = 1
    """Runs that end at an outlet: an outlet in the middle drains two runs."""


class Leader(PipeRun):
    """Leaders (downspouts) of one roof; the shorter side of a rectangular one is its `inside`."""

    roof: Name
    """The roof they drain."""
    count: Count = 1
    """How many share the roof."""


class Overflow(PipeRun):
    """Overflow of one tank; its bottom is the tank's lip."""

    tank: Name
    """The tank it leaves."""
    count: Annotated[int, Field(ge=0, le=100)] = 1
    """How many alike; 0 where the tank has none of its own."""
    water_above: Height | None = None
    """How high the water may stand above the bottom of the pipe before it finds another way out."""


class LinkPipe(LongRun):
    """The pipe of one link of the scenario."""

    tanks: Annotated[list[Name], Field(min_length=2)]
    """The tanks it joins, as in the link."""


class Stand(Part):
    """What one tank stands on."""

    tank: Name
    """The tank."""
    pad_area: Annotated[Area, Field(gt=0)] | None = None
    """Area of its pad; without one the tank's own footprint counts."""
    pad_thickness: Height = 0.0
    """Thickness of a concrete pad."""
    empty_weight: Mass | None = None
    """Weight of the empty tank."""


class Point(Part):
    """A point of a pump's curve."""

    flow: PipeFlow
    """Flow."""
    head: Height
    """Head at that flow."""


class Pump(Part):
    """The pump that draws on the tanks."""

    height: Base | None = None
    """Height of its inlet above the datum the tanks' `base` counts from."""
    lowest_water: Base | None = None
    """Lowest water it draws from, above the same datum; without it the lowest outlet of the tanks."""
    flow: SomeFlow | None = None
    """Flow it is to give."""
    curve: list[Point] = Field(default_factory=list)
    """Points of its curve, or the one rated point."""
    npsh_required: Height | None = None
    """Net positive suction head its maker asks for."""
    power: SomePower | None = None
    """Rated power of its motor."""
    draws: SomePower | None = None
    """Electric power it takes, from its plate."""
    single_phase: bool = True
    """Whether its motor runs on single-phase current."""
    serves: list[Name] | None = None
    """Draws it serves; without it all."""


class PressureTank(Part):
    """Pressure tank and switch."""

    volume: Annotated[Volume, Field(gt=0)] | None = None
    """Whole volume of the pressure tank."""
    precharge: Pressure | None = None
    """Air pressure in the empty tank."""
    cut_in: Pressure | None = None
    """Pressure at which the pump starts."""
    cut_out: Pressure | None = None
    """Pressure at which it stops."""


class Line(LongRun):
    """A supply line to one point of use."""

    name: Name
    """Where it leads."""
    fed_by: Literal["pump", "gravity"] = "pump"
    """What drives the water."""
    flow: SomeFlow | None = None
    """Flow wanted at its end."""
    height: Base | None = None
    """Height of the tap above the datum the tanks' `base` counts from."""
    pressure: Pressure | None = None
    """Pressure wanted at the tap."""
    buried: Height | None = None
    """Least cover over the pipe, 0 in the open."""
    drained: bool = False
    """Whether it is drained before the frost."""


class Filling(Part):
    """Where a backup's water comes in."""

    backup: Name
    """The backup."""
    outlet: SomeHeight | None = None
    """Inside diameter of the filling outlet."""
    air_gap: Height | None = None
    """Open height between the outlet and the highest water it can meet."""


class Site(Part):
    """Everything beside the daily water."""

    soil: str | None = None
    """Soil under the tanks: "gravel", "sand" or "clay or silt"."""
    allowed_bearing: Annotated[Bearing, Field(gt=0)] | None = None
    """Pressure the soil may carry, where it was tested."""
    frost_depth: Height | None = None
    """Frost depth the local building office gives."""
    warmest_water: Annotated[Temperature, Field(ge=0, le=60)] = 30.0
    """Warmest water the pump meets."""
    storm: Storm = Storm()
    """Design storm."""
    gutter: list[Gutter] = Field(default_factory=list)
    """Gutters."""
    leader: list[Leader] = Field(default_factory=list)
    """Leaders."""
    overflow: list[Overflow] = Field(default_factory=list)
    """Overflows."""
    link: list[LinkPipe] = Field(default_factory=list)
    """Pipes of the links."""
    stand: list[Stand] = Field(default_factory=list)
    """What the tanks stand on."""
    suction: LongRun = LongRun()
    """Suction pipe of the pump."""
    pump: Pump | None = None
    """The pump."""
    pressure_tank: PressureTank = PressureTank()
    """Pressure tank and switch."""
    line: list[Line] = Field(default_factory=list)
    """Supply lines."""
    filling: list[Filling] = Field(default_factory=list)
    """Where backup water comes in."""
