"""The site checks as plain data: `site.json`, and what `holdwater site --json` prints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from holdwater.report.site_text import margin, verdict
from holdwater.scenario.schema import Scenario
from holdwater.site.checks import CAUTIONS, Check, Verdict, needs_weather
from holdwater.site.layout import Layout, layout


def site_data(scenario: Scenario, checks: Sequence[Check], left_out: str) -> dict[str, Any]:
    """Everything a script needs to know of the site checks.

    Parameters
    ----------
    scenario : Scenario
        The checked holding.
    checks : sequence of Check
        In the order of printing.
    left_out : str
        Why no run could be made; empty where one was.

    Returns
    -------
    dict
        Numbers with the unit they are in; sentences in the units the scenario shows.
    """
    system = scenario.show_units
    return {
        "scenario": scenario.title,
        "verdict": verdict(scenario.title, checks),
        "verdicts": {str(kind): sum(check.verdict is kind for check in checks) for kind in Verdict},
        "run": {
            "made": not left_out,
            "why_not": left_out or None,
            "left_out": [check.name for check in checks if needs_weather(check)] if left_out else [],
        },
        "checks": [{**check.as_dict(system), "margin_text": margin(check)} for check in checks],
        "levels_mm": _levels(layout(scenario)),
        "cautions": list(CAUTIONS),
    }


def _levels(plan: Layout) -> list[dict[str, Any]]:
    """Heights of every tank above the common datum, and the volumes that are stranded."""
    rows = []
    for joined in plan.joined:
        for t in joined.tanks:
            vessel = plan.vessels[t]
            rows.append(
                {
                    "tank": vessel.name,
                    "joined_with": [plan.vessels[other].name for other in joined.tanks if other != t],
                    "base": vessel.base,
                    "outlet": vessel.base + vessel.outlet,
                    "lip": plan.lip(t),
                    "full": plan.full(t),
                    "empty": vessel.base + vessel.outlet,
                    "stranded_L": {"top": joined.stranded_top[t], "bottom": joined.stranded_bottom[t]},
                }
            )
    return rows
