"""The site checks in the order they are printed, and the cautions that stand beside them all."""

from __future__ import annotations

from collections.abc import Iterable

from holdwater.site.cautions import GENERAL as CAUTIONS
from holdwater.site.link_checks import EQUALISE, LINK_FLOW
from holdwater.site.overflow_checks import INLETS, OVERFLOW
from holdwater.site.pressure_tank_checks import PRECHARGE, RUN_TIME, STARTS
from holdwater.site.pump_checks import CUT_OUT, DUTY, ENERGY
from holdwater.site.result import RUN, WARMTH, Check, Topic, Value, Verdict
from holdwater.site.roof_checks import FIRST_FLUSH, GUTTER, LEADER
from holdwater.site.suction_checks import LIFT, NPSH
from holdwater.site.supply_checks import FROST, MOVEMENT, PRESSURE, SPEED
from holdwater.site.tank_checks import AIR_GAP, CASCADE, CROSSING, LEVELS, WEIGHT

__all__ = ["CAUTIONS", "ORDER", "Check", "Topic", "Value", "Verdict", "in_order", "needs_weather"]

ORDER: tuple[Topic, ...] = (
    LEVELS,
    CASCADE,
    EQUALISE,
    LINK_FLOW,
    OVERFLOW,
    INLETS,
    GUTTER,
    LEADER,
    FIRST_FLUSH,
    PRESSURE,
    SPEED,
    LIFT,
    NPSH,
    DUTY,
    CUT_OUT,
    PRECHARGE,
    RUN_TIME,
    STARTS,
    ENERGY,
    FROST,
    MOVEMENT,
    WEIGHT,
    AIR_GAP,
    CROSSING,
)
"""Every kind of check, the way the water goes."""


def in_order(checks: Iterable[Check]) -> list[Check]:
    """Checks in the order of `ORDER`, those of one kind as they came."""
    place = {topic.key: i for i, topic in enumerate(ORDER)}
    return sorted(checks, key=lambda check: place[check.topic.key])


def needs_weather(check: Check) -> bool:
    """Whether a check lacks nothing but what the weather or a run can tell."""
    return bool(check.needs) and all(RUN in need or WARMTH in need for need in check.needs)
