"""Invent 30 years of daily weather for Larkfield, the demo holding, and write larkfield-weather.csv.

    python scenarios/make_larkfield_weather.py

Nobody measured any of it. Larkfield is a made-up place in dry hill country with wet winters and dry
summers, and two droughts are written in on purpose. The same seed always gives the same file: the
script uses only the raw integers of PCG64, which numpy promises never to change for a given seed
(numpy's other random draws may change from one version to the next).

The recipe is a common one for daily weather generators:

- wet or dry: a two-state Markov chain, so wet days come in runs;
- amount on a wet day: a mix of two exponentials, many small rains and some large ones;
- temperature: a yearly cosine plus noise that remembers yesterday; wet days are cooler, with
  milder nights;
- wetter and drier years: one factor per water year (October to September) that half remembers the
  year before.
"""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from statistics import NormalDist

import numpy as np

SEED = 67
FIRST, LAST = dt.date(1996, 1, 1), dt.date(2025, 12, 31)
FILE = Path(__file__).with_name("larkfield-weather.csv")

# Mean rain of a month [in] and share of its days that are wet, January to December.
RAIN = (2.8, 2.6, 2.4, 1.8, 1.2, 0.6, 0.6, 0.8, 1.1, 1.8, 2.5, 2.9)
WET_SHARE = (0.34, 0.33, 0.31, 0.25, 0.17, 0.09, 0.11, 0.12, 0.14, 0.20, 0.29, 0.34)
PERSISTENCE = 0.30  # chance of rain after a wet day less the chance after a dry one
SMALL_SHARE, SMALL, LARGE = 0.50, 0.45, 1.55  # the two exponentials, as multiples of the mean wet day

# Wetness of a year: spread of its logarithm, and how much of it the next year remembers.
YEAR_SPREAD, YEAR_MEMORY = 0.17, 0.50
# Droughts written in: first day, last day, share of the usual rain that still falls.
DROUGHTS = (
    (dt.date(2001, 11, 15), dt.date(2002, 11, 10), 0.42),
    (dt.date(2024, 12, 10), dt.date(2025, 11, 15), 0.48),
)

# Temperatures [degF]: yearly mean and half the summer-to-winter swing of the daily high, and of the
# daily range (high less low); the noise, its memory, and what a wet day changes.
HIGH, HIGH_SWING = 69.0, 21.0
RANGE, RANGE_SWING = 24.0, 5.0
WARMEST_DAY = 203  # 22 July
NOISE, NOISE_MEMORY, RANGE_NOISE = 6.0, 0.70, 3.5
WET_DAY_HIGH, WET_DAY_RANGE = -5.0, -7.0
DROUGHT_HIGH = 2.5


def uniforms(seed: int, rows: int, columns: int) -> list[list[float]]:
    """Random numbers between 0 and 1, never 0 or 1 themselves, from the raw integers of PCG64."""
    raw = np.random.PCG64(seed).random_raw(rows * columns)
    numbers: list[list[float]] = (((raw >> 12) + 0.5) * 2.0**-52).reshape(rows, columns).tolist()
    return numbers


def year_factors(years: range) -> dict[int, float]:
    """How wet each water year is against the usual one; 1 on average."""
    factors, memory = {}, 0.0
    for year, (u,) in zip(years, uniforms(SEED + 1, len(years), 1), strict=True):
        memory = YEAR_MEMORY * memory + math.sqrt(1 - YEAR_MEMORY**2) * NormalDist().inv_cdf(u)
        factors[year] = math.exp(YEAR_SPREAD * memory - YEAR_SPREAD**2 / 2)
    return factors


def drought(day: dt.date) -> float | None:
    """Share of the usual rain that still falls on this day, or None outside the droughts."""
    return next((share for first, last, share in DROUGHTS if first <= day <= last), None)


def rain_of_day(month: int, wetness: float, wet_before: bool, u: list[float]) -> float:
    """Rain of one day [in]; three random numbers say whether it rains, from which mix, how much.

    Drier times bring fewer wet days (two thirds of the change, as a power) and smaller rains (one third).
    """
    days = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)[month - 1]
    usual_share = WET_SHARE[month - 1]
    share = min(usual_share * math.pow(wetness, 2 / 3), 0.9)
    chance = share * (1 - PERSISTENCE) + (PERSISTENCE if wet_before else 0.0)
    if u[0] >= chance:
        return 0.0
    mean = RAIN[month - 1] / (usual_share * days) * math.pow(wetness, 1 / 3)
    mean *= SMALL if u[1] < SMALL_SHARE else LARGE
    return max(round(-mean * math.log(u[2]), 2), 0.01)


def temperatures_of_day(day: dt.date, wet: bool, noise: float, u: float) -> tuple[int, int]:
    """Low and high of one day [degF], from the season, the rain and the running noise."""
    season = math.cos(2 * math.pi * (day.timetuple().tm_yday - WARMEST_DAY) / 365.25)
    high = HIGH + HIGH_SWING * season + noise * (1 - 0.2 * season)
    spread = RANGE + RANGE_SWING * season + RANGE_NOISE * NormalDist().inv_cdf(u)
    if wet:
        high, spread = high + WET_DAY_HIGH, spread + WET_DAY_RANGE
    elif drought(day):
        high += DROUGHT_HIGH
    high_f = round(high)
    return high_f - max(round(spread), 4), high_f


def make_weather() -> str:
    """The whole file as text: comment lines, the header, one line per day."""
    lines = [
        "# INVENTED weather of an invented place, Larkfield. Nobody measured it: plan no real holding on it.",
        f"# Written by make_larkfield_weather.py with seed {SEED}. Two droughts are written in on purpose.",
        "# Rain and melted snow in inches; temperatures in degF, each day from midnight to midnight.",
        "date,rain_in,t_min_f,t_max_f",
    ]
    days = [FIRST + dt.timedelta(n) for n in range((LAST - FIRST).days + 1)]
    years = year_factors(range(FIRST.year, LAST.year + 2))
    wet, noise = False, 0.0
    for day, u in zip(days, uniforms(SEED, len(days), 5), strict=True):
        water_year = day.year + (day.month >= 10)
        rain = rain_of_day(day.month, drought(day) or years[water_year], wet, u[:3])
        wet = rain > 0
        noise = NOISE_MEMORY * noise + math.sqrt(1 - NOISE_MEMORY**2) * NOISE * NormalDist().inv_cdf(u[3])
        low, high = temperatures_of_day(day, wet, noise, u[4])
        lines.append(f"{day.isoformat()},{rain:.2f},{low},{high}")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    FILE.write_text(make_weather(), encoding="ascii", newline="\n")
    print(f"wrote {FILE.name}: {FIRST} to {LAST}, invented, seed {SEED}")
