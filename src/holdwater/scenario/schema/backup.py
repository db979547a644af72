"""What stands behind the rain: the reserve, and the well, mains or hauler that serves the rest."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from holdwater.scenario.quantities import Days, Flow, Level, Money, Price, Volume
from holdwater.scenario.schema.part import Name, Part


class Reserve(Part):
    """Volume no ordinary draw may touch, spread over `in_tanks` in proportion to what they can give."""

    volume: Volume
    """How much is kept."""
    in_tanks: list[Name] | None = None
    """Tanks that keep it; without it all tanks."""


class BackupBase(Part):
    """What every backup has in common."""

    name: Name
    """What you call it."""
    per_day: Flow | None = None
    """The most it can give in a day; without it there is no limit. Loads know no such limit."""
    cost_per_volume: Price | None = None
    """Price of its water, in your own currency; of a load only what fitted into the tank is paid for."""


class Direct(BackupBase):
    """A well or main piped to the taps: it serves what the tanks could not give, up to `per_day`.

    It fills no tank. A day on which it helps is still a dry day, for the tanks fell short; only a day on which it
    falls short too is an unserved day. A well that pumps into a tank is kind = "refill".
    """

    kind: Literal["direct"]
    serves: list[Name] | None = None
    """Draws it serves; without it all of them."""


class Refill(BackupBase):
    """A well or main that pumps into a tank, or a hauler: it fills when the tank stands below `starts_below`.

    Water in a tank is the tanks' own, so a day on which it comes in time is no dry day. A well piped to the taps
    is kind = "direct".
    """

    kind: Literal["refill"]
    into: Name | None = None
    """Tank it fills, and with it the tanks it is linked with; without it the first tank of the file."""
    starts_below: Level
    """It is called when the tank stands below this level: higher than the reserve and than the level at which the
    draws stop, or it is never reached."""
    fills_to: Level | None = None
    """Level up to which it fills; without it one load comes."""
    load: Volume | None = None
    """Size of one load, for a hauler. Whole loads come, at least one and as many as it takes to reach fills_to, the
    last of them above it; what does not fit into the tank is not delivered."""
    cost_per_load: Money | None = None
    """Price of one load, in your own currency; a load is paid for whole, even where part of it does not fit."""
    lead_days: Annotated[Days, Field(le=60)] = 0
    """Days from calling to the water coming."""


Backup = Annotated[Direct | Refill, Field(discriminator="kind")]
