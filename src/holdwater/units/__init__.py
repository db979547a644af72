"""Quantities at the door: "2500 gal" comes in, litres stay inside, "2,500 gal" goes out.

"gallon" is the US gallon of 231 cubic inches; "imperial gallon" is known too.
"""

from holdwater.units.kinds import Kind, Level, System
from holdwater.units.money import read_money
from holdwater.units.reading import read
from holdwater.units.showing import CUBIC_METRES_FROM, figures, quoted, scale, show

__all__ = [
    "CUBIC_METRES_FROM",
    "Kind",
    "Level",
    "System",
    "figures",
    "quoted",
    "read",
    "read_money",
    "scale",
    "show",
]
