"""The invented holding of these tests: text of its scenario and of its weather."""

from __future__ import annotations

import datetime as dt
import math
import random

FIRST, LAST = dt.date(2019, 1, 1), dt.date(2020, 12, 31)

HOLDING = """
title = "Test holding: one roof, one tank (invented)"
[place]
latitude = 40.0
longitude = -100.0
[weather]
file = "weather.csv"
licence = "invented for a test"
[[roof]]
name = "barn"
area = "1000 ft2"
surface = "metal"
first_flush = { volume = "20 gal" }
feeds = "main"
[[tank]]
name = "main"
capacity = "2500 gal"
diameter = "95 in"
[[draw]]
name = "house"
kind = "household"
people = 2
per_person = "20 gal/day"
[[draw]]
name = "tomatoes"
kind = "garden"
area = "100 ft2"
crop = "tomato"
planted = "05-10"
soil = "loam"
stops_below = "30 %"
[variant."bigger roof"]
"roof.barn.area" = "2000 ft2"
[variant."no garden"]
"draw.tomatoes.area" = "1 ft2"
"""


def days() -> list[dt.date]:
    """Every day of the record."""
    return [FIRST + dt.timedelta(n) for n in range((LAST - FIRST).days + 1)]


def rain_in() -> list[float]:
    """Rain of every day [in], the same each time."""
    drawn = random.Random(5)
    return [round(drawn.expovariate(3.0), 2) if drawn.random() < 0.25 else 0.0 for _ in days()]


def weather_csv() -> str:
    """Rain [in] and temperatures [degF] as a user's file."""
    lines = ["date,rain_in,t_min_f,t_max_f"]
    for day, rain in zip(days(), rain_in(), strict=True):
        season = math.cos(2 * math.pi * (day.timetuple().tm_yday - 200) / 365.25)
        lines.append(f"{day},{rain},{45 + 20 * season:.0f},{65 + 22 * season:.0f}")
    return "\n".join(lines) + "\n"
