"""Invented holdings for the plan: one with every part, one with hostile words in every place."""

from __future__ import annotations

import datetime as dt
import math
import random

FIRST, LAST = dt.date(2017, 1, 1), dt.date(2020, 12, 31)

EVERYTHING = """
title = "Hillside: two roofs, three tanks (invented)"
show_units = "us"
[place]
latitude = 40.0
longitude = -100.0
elevation = "3000 ft"
[weather]
file = "weather.csv"
licence = "invented for a test"
[run]
start_full = 0.5
[[roof]]
name = "barn"
area = "900 ft2"
surface = "metal"
first_flush = { volume = "20 gal", drains_in = "1 day" }
feeds = { upper = 0.6, lower = 0.4 }
[[roof]]
name = "house"
area = "700 ft2"
runoff_coefficient = 0.85
feeds = "lower"
[[tank]]
name = "upper"
capacity = "1500 gal"
diameter = "80 in"
base = "6 in"
outlet = "3 in"
cost = 1500
[[tank]]
name = "lower"
capacity = "1500 gal"
diameter = "80 in"
outlet = "3 in"
overflow_to = "pond"
[[tank]]
name = "pond"
levels = [ { level = "0 in", volume = "0 gal" }, { level = "40 in", volume = "1200 gal" } ]
base = "-20 in"
evaporation_factor = 1.0
[[link]]
tanks = ["upper", "lower"]
[[transfer]]
name = "lift"
from_tank = "pond"
to_tank = "upper"
starts_below = "30 %"
per_day = "100 gal/day"
[[draw]]
name = "house"
kind = "household"
people = 4
per_person = "25 gal/day"
from_tanks = ["upper", "lower"]
[[draw]]
name = "hens"
kind = "livestock"
animals = { "hen, laying" = 30 }
may_use_reserve = true
[[draw]]
name = "tomatoes"
kind = "garden"
area = "100 ft2"
crop = "tomato"
planted = "05-10"
soil = "loam"
stops_below = "30 %"
from_tanks = ["pond"]
[reserve]
volume = "100 gal"
[[backup]]
name = "hauler"
kind = "refill"
into = "lower"
starts_below = "10 %"
load = "1000 gal"
cost_per_load = 150
lead_days = 14
[[backup]]
name = "well"
kind = "direct"
serves = ["hens"]
per_day = "20 gal/day"
[variant."bigger roof"]
"roof.barn.area" = "1500 ft2"
"""

BARE = """
title = "Bare"
show_units = "metric"
[weather]
file = "weather.csv"
[run]
from = 2018-01-01
to = 2018-12-31
[[roof]]
name = "roof"
area = "400 m2"
surface = "metal"
feeds = "tank"
[[tank]]
name = "tank"
capacity = "60 m3"
diameter = "6 m"
[[draw]]
name = "house"
kind = "fixed"
per_day = "20 L/day"
"""

SITE = """
[site.storm]
in_5_minutes = "4 in/h"
in_60_minutes = "2 in/h"
"""

TITLE = """<script>window.pwned=1</script>"'&</title><img src=x onerror=pwned=1> {{7*7}} \u05e9\u05dc\u05d5\u05dd"""
NAME = """</text><script>pwned=1</script>"'<b>"""
LONG = "x" * 10_000
TURNED = "\u202e"
"""Turns the line from right to left."""

HOSTILE_FILE = "<img src=x onerror=pwned=6>.csv"
HOSTILE = f"""
# {LONG} </pre><script>window.pwned=2</script> <!-- {TURNED} txt.exe ]]> {{{{7*7}}}}
title = '''{TITLE}'''
[place]
latitude = 40.0
longitude = -100.0
[weather]
file = "{HOSTILE_FILE}"
licence = '''<script>window.pwned=3</script>" onload="pwned=3'''
[[roof]]
name = '''{NAME} roof'''
area = "900 ft2"
surface = "metal"
first_flush = {{ volume = "20 gal" }}
feeds = '''{NAME} one'''
[[tank]]
name = '''{NAME} one'''
capacity = "1500 gal"
diameter = "80 in"
[[tank]]
name = '''../../../etc/passwd'''
capacity = "500 gal"
diameter = "50 in"
overflow_to = "ground"
[[link]]
tanks = ['''{NAME} one''', "../../../etc/passwd"]
[[draw]]
name = '''javascript:alert(1)//{NAME}'''
kind = "fixed"
per_day = "30 gal/day"
[[draw]]
name = '''\u05d2\u05d5\u05d1'''
kind = "garden"
area = "100 ft2"
crop = "tomato"
planted = "05-10"
soil = "loam"
stops_below = "30 %"
[[backup]]
name = '''url(#x);}}</style><script>pwned=4</script>'''
kind = "direct"
[variant.'<svg onload=pwned=5>']
"draw.\u05d2\u05d5\u05d1.area" = "50 ft2"
"""


def weather_csv() -> str:
    """Four years of rain [in] and temperatures [degF], the same each time; dry summers."""
    drawn = random.Random(11)
    lines = ["date,rain_in,t_min_f,t_max_f"]
    for n in range((LAST - FIRST).days + 1):
        day = FIRST + dt.timedelta(n)
        warm = math.cos(2 * math.pi * (day.timetuple().tm_yday - 200) / 365.25)
        wet = drawn.random() < 0.28 - 0.24 * warm
        rain = round(drawn.expovariate(3.0), 2) if wet else 0.0
        lines.append(f"{day},{rain},{45 + 20 * warm:.0f},{65 + 22 * warm:.0f}")
    return "\n".join(lines) + "\n"
