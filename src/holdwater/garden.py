"""Garden beds: what the owner says of one, checked, and all that is known of it before a run starts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater import crop_water
from holdwater.crop_water import Days, Floats
from holdwater.errors import InputError
from holdwater.scenario.quantities import MonthDayValue
from holdwater.scenario.tables.growing import Crop, Stages, crops, methods, named, soils


@dataclass(frozen=True)
class Bed:
    """A bed as its owner describes it, checked; see `bed`."""

    area: float
    crop: Crop
    planted: MonthDayValue | None
    stages: Stages | None
    taw: float
    tew: float
    rew: float
    p: float
    efficiency: float
    starts_at: float | None
    refill_to: float
    mulched: float
    rain_fed: bool
    adjust_p: bool


@dataclass(frozen=True)
class BedPlan:
    """A bed over the days of a run, for the daily loop.

    Attributes
    ----------
    area : float
        Plan area [m2].
    taw, target : float
        Total available water; depletion that watering leaves [mm].
    tew, rew : float
        Total and readily evaporable water of the top layer while the soil is bare [mm].
    efficiency : float
        Share of the water applied that reaches the root zone [-].
    kc : ndarray, shape (n,)
        Crop coefficient [-].
    growing, asks : ndarray of bool, shape (n,)
        The crop stands; the bed may ask for water (it stands and is not rain-fed).
    etc, rain_kept, rain_ignored, raw, trigger : ndarray, shape (n,)
        Evapotranspiration without stress, of the crop or of wet bare soil; rain that counts and that does
        not; readily available water; depletion beyond which the bed asks [mm].
    """

    area: float
    taw: float
    target: float
    tew: float
    rew: float
    efficiency: float
    kc: Floats
    growing: npt.NDArray[np.bool_]
    asks: npt.NDArray[np.bool_]
    etc: Floats
    rain_kept: Floats
    rain_ignored: Floats
    raw: Floats
    trigger: Floats


def bed(
    where: str,
    area: float,
    crop: str,
    planted: MonthDayValue | None,
    soil: str,
    method: str = "drip",
    *,
    efficiency: float | None = None,
    starts_at: float | None = None,
    refill_to: float = 1.0,
    mulched: float = 0.0,
    rain_fed: bool = False,
    root_depth: float | None = None,
    stages: Stages | None = None,
    adjust_p: bool = False,
) -> Bed:
    """Look up and check what an owner says of a bed.

    Parameters
    ----------
    where : str
        Name for messages, such as "draw 'kitchen garden'".
    area : float
        Plan area [m2].
    crop, soil, method : str
        Names from the tables.
    planted : MonthDayValue or None
        Day of every year on which the crop is planted or a perennial wakes.
    efficiency : float, optional
        In place of the method's [-].
    starts_at : float, optional
        Share of the available water used up at which watering starts; the crop's p by default [-].
    refill_to : float
        Share of the available water present after watering; 1 is field capacity [-].
    mulched : float
        Share of the soil under organic mulch, 0 to 1.
    rain_fed : bool
        Never asks for water.
    root_depth : float, optional
        In place of the crop's smaller tabulated one [mm].
    stages : tuple of 4 int, optional
        In place of the tabulated lengths [days].
    adjust_p : bool
        Let p follow the day's crop water use (FAO-56 Table 22 footnote); off by default.

    Raises
    ------
    InputError
        All faults of the bed, one sentence each.
    """
    unknown = (named("crop", crop, crops()), named("soil", soil, soils()), named("method", method, methods()))
    faults = [fault for fault in unknown if fault]
    row = crops().get(crop)
    if row is not None:
        faults += _season_faults(row, planted, stages)
        faults += _watering_faults(row, starts_at, refill_to, rain_fed)
    share = methods().get(method, 1.0) if efficiency is None else efficiency
    amounts = {"area": area, "root_depth": 1.0 if root_depth is None else root_depth, "efficiency": share}
    faults += [f"{key} must be above 0; found {value:g}" for key, value in amounts.items() if not value > 0.0]
    if faults or row is None:
        raise InputError(f"{where}: {fault}" for fault in faults)
    ground = soils()[soil]
    taw = crop_water.total_available(ground.holds, row.root_depth if root_depth is None else root_depth)
    tew = min(ground.evaporable * (1.0 - crop_water.MULCH_SAVES * mulched), taw)
    rew = min(ground.readily_evaporable, tew)
    return Bed(
        area,
        row,
        planted,
        stages,
        taw,
        tew,
        rew,
        row.p,
        share,
        starts_at,
        refill_to,
        mulched,
        rain_fed,
        adjust_p,
    )


def _season_faults(crop: Crop, planted: MonthDayValue | None, stages: Stages | None) -> list[str]:
    lengths = stages or crop.stages
    if lengths is None:
        if crop.habit == "ground cover":
            useless = f"planted has no effect: {crop.name} stands all year; leave it out or give stages"
            return [useless] if planted is not None else []
        return [
            f"crop '{crop.name}' has no published stage lengths; "
            "give stages = [initial, development, mid, late] in days"
        ]
    faults = []
    if planted is None:
        faults.append(f"crop '{crop.name}' needs planted, such as \"05-10\" for 10 May")
    if min(lengths) < 1 or sum(lengths) > 365:
        faults.append(
            f"stages: found {list(lengths)}, {sum(lengths)} days in all; "
            "required four lengths of 1 day or more, 365 days at most together"
        )
    return faults


def _watering_faults(crop: Crop, starts_at: float | None, refill_to: float, rain_fed: bool) -> list[str]:
    if rain_fed:
        idle = starts_at is not None or refill_to < 1.0
        return ["a rain-fed bed is never watered; leave out trigger and refill_to"] if idle else []
    starts = crop.p if starts_at is None else starts_at
    if 1.0 - refill_to < starts:
        return []
    return [
        f"refill_to {refill_to:.0%} leaves {1 - refill_to:.0%} of the available water used up, and watering "
        f"starts again at {starts:.0%}; raise refill_to above {1 - starts:.0%} or let trigger be larger"
    ]


def plan(bed: Bed, days: Days, rain: npt.ArrayLike, et0: npt.ArrayLike) -> BedPlan:
    """Everything about a bed that is known before the run starts.

    Parameters
    ----------
    bed : Bed
        A checked bed.
    days : ndarray of datetime64, shape (n,)
        Consecutive days.
    rain, et0 : array_like, shape (n,)
        Rain and melt on the bed, and reference evapotranspiration [mm].
    """
    kc, growing = crop_water.crop_calendar(days, bed.crop, bed.planted, bed.stages, bed.mulched)
    etc = kc * np.asarray(et0, dtype=np.float64)
    kept, ignored = crop_water.effective_rain(rain, et0)
    p = crop_water.adjusted_fraction(bed.p, etc) if bed.adjust_p else np.full(days.shape, bed.p)
    raw = crop_water.readily_available(p, bed.taw)
    trigger = raw if bed.starts_at is None else np.full(days.shape, bed.starts_at * bed.taw)
    asks = growing & (not bed.rain_fed)
    target = (1.0 - bed.refill_to) * bed.taw
    return BedPlan(
        bed.area,
        bed.taw,
        target,
        bed.tew,
        bed.rew,
        bed.efficiency,
        kc,
        growing,
        asks,
        etc,
        kept,
        ignored,
        raw,
        trigger,
    )
