"""The kinds of quantity a holding has, and the units each is asked for and shown in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "volume", "bulk", "area", "height", "base", "depth", "flow", "share", "duration", "altitude", "price"
]
System = Literal["us", "metric"]

GALLON = 3.785411784  # L: 231 cubic inches
SQUARE_FOOT = 0.09290304  # m2
INCH = 25.4  # mm
FOOT = 0.3048  # m


@dataclass(frozen=True)
class Level:
    """How full: a share of the drawable capacity or a volume above the outlet; one of the two.

    Attributes
    ----------
    share : float or None
        Share of the drawable capacity [0..1].
    volume : float or None
        Drawable volume [L].
    """

    share: float | None = None
    volume: float | None = None

    def of(self, drawable: float) -> float:
        """Volume that this level means where `drawable` fits between outlet and overflow [L].

        Parameters
        ----------
        drawable : float
            Drawable capacity [L].
        """
        return self.share * drawable if self.share is not None else self.volume or 0.0


@dataclass(frozen=True)
class Spec:
    """How one kind of quantity is read, asked for and shown.

    Attributes
    ----------
    dimension : str
        What its unit must measure.
    need : str
        What a message calls it.
    us, metric : tuple of float and str
        Factor from the inside unit to the shown one, and its label.
    examples : tuple of str
        Two ways to write one, in US and in metric units.
    may_be_negative : bool
        Whether a value below zero makes sense.
    """

    dimension: str
    need: str
    us: tuple[float, str]
    metric: tuple[float, str]
    examples: tuple[str, str]
    may_be_negative: bool = False


_GAL, _L, _M3 = (1 / GALLON, "gal"), (1.0, "L"), (0.001, "m3")
_IN, _CM = (1 / INCH, "in"), (0.1, "cm")
_LENGTHS = ("6 in", "15 cm")
SPECS: dict[Kind, Spec] = {
    "volume": Spec("volume", "a volume", _GAL, _L, ("2500 gal", "9.5 m3")),
    "bulk": Spec("volume", "a volume", _GAL, _M3, ("2500 gal", "9.5 m3")),
    "area": Spec("area", "an area", (1 / SQUARE_FOOT, "ft2"), (1.0, "m2"), ("1480 ft2", "137 m2")),
    "height": Spec("length", "a length", _IN, _CM, _LENGTHS),
    "base": Spec("length", "a length", _IN, _CM, _LENGTHS, may_be_negative=True),
    "depth": Spec("length", "a depth of water", _IN, (1.0, "mm"), ("0.02 in", "0.5 mm")),
    "flow": Spec(
        "flow", "a volume per time", (1 / GALLON, "gal/day"), (1.0, "L/day"), ("38 gal/day", "144 L/day")
    ),
    "share": Spec("share", "a share", (100.0, "%"), (100.0, "%"), ("20 %", "0.2")),
    "duration": Spec("time", "a length of time", (1.0, "days"), (1.0, "days"), ("36 h", "1 day")),
    "altitude": Spec(
        "length", "a height", (1 / FOOT, "ft"), (1.0, "m"), ("5200 ft", "1585 m"), may_be_negative=True
    ),
    "price": Spec(
        "price",
        "a price per volume",
        (1000 * GALLON, "per 1,000 gal"),
        (1000.0, "per m3"),
        ("12 per 1000 gal", "3.20 per m3"),
    ),
}
