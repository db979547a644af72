"""`holdwater size`: how big must it be?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from holdwater.charts.curve import curve_chart, of_size
from holdwater.charts.files import picture, write
from holdwater.cli import confidence
from holdwater.cli.running import Lot
from holdwater.cli.size_told import answers, around, levels_moved, sentence, title
from holdwater.cli.study import Asked, Records, closing, notes, period, progress, weather, write_rows
from holdwater.cli.text import as_json
from holdwater.report.files import staged
from holdwater.studies.engine import Site
from holdwater.studies.size import Size, Target, read_years, size
from holdwater.units import System

FILES = ("size.json", "size.csv", "charts/size")


@dataclass(frozen=True)
class TargetAsked:
    """When a holding gets through, as typed."""

    dry_days: int
    years: str | None
    stress_days: int | None

    def read(self) -> Target:
        """The target.

        Raises
        ------
        InputError
            The years make no sense.
        """
        return Target(self.dry_days, *read_years(self.years), self.stress_days)


def run(
    asked: Asked, vary: str, target: TargetAsked, json: bool, quiet: bool, lot: Lot | None = None
) -> None:
    """Search, write the values tried and the curve, and print the answer."""
    wanted = target.read()
    file = asked.file
    system = file.scenario.show_units
    with progress(json or quiet) as bar:
        bar.doing("reading the weather")
        record = Records(file.path.parent)(file.scenario)
        site = Site.of(file.scenario, record, bar.doing)
        if lot is not None:
            confidence.drawing(site.record, lot, file.scenario.run.year_starts)
        bar.doing("trying values")
        found = size(file, site, vary, wanted, bar.done)
        told = as_data(found, system)
        if lot is not None:
            told["confidence"] = confidence.of_size(found, vary, replace(lot, bar=bar))
            bar.doing("writing")
        with staged(asked.folder) as stage:
            (stage / "size.json").write_text(as_json(told) + "\n", "utf-8")
            write_rows(stage / "size.csv", *_table(found))
            curve = of_size(found, system, title(found, system))
            write(picture(curve_chart(curve, system), "size"), stage / "charts")
    if json:
        print(as_json(told))
    elif not quiet:
        print(sentence(found, system))
        print(f"\n{around(found, system)}\n")
        for said in answers(found, system):
            print(said)
        if lot is not None:
            print(f"\n{confidence.size_words(told['confidence'], found, system)}")
        closing([*told["notes"], *notes(file, record)], asked.folder, FILES)


def as_data(found: Size, system: System) -> dict[str, Any]:
    """The answer as plain data."""
    tried, record = found.tried, found.site.record
    answer = None if found.answer is None else _value(found, found.answer)
    return {
        "scenario": found.base.scenario.title,
        "finding": sentence(found, system),
        "rule": found.base.scenario.run.rule,
        "period": period(record),
        "weather": weather(record),
        "path": tried.axis.dial.path,
        "target": {
            "dry_days": found.target.dry_days,
            "stress_days": found.target.stress_days,
            "years_on_record": found.years,
            "parts_of_years": int((~found.whole).sum()),
            "years_that_may_fail": found.may_fail,
        },
        "more_helps": found.grows,
        "answer": answer,
        "also_holds": None if found.stray is None else _value(found, found.stray),
        "present": None if np.isnan(tried.axis.present) else tried.axis.present,
        "present_years_that_hold": found.years - found.present_failing[0],
        "present_parts_of_years_that_fail": found.present_failing[1],
        "present_held_back_days": found.present.days(0).held_back,
        "present_stressed_days": found.present.days(0).stressed,
        "held_back_days_by_draw": {name: days for name, (days, _) in found.held_back.items()},
        "tried": int(tried.holds.size),
        "scanned": found.scanned or None,
        "sequent_peak": {
            "capacity_L": found.peak.capacity_L,
            "margin_for_YAS_L": found.peak.margin_L,
            "present_L": found.peak.present_L,
            "asked_L": found.peak.asked_L,
            "inflow_L": found.peak.came_L,
        },
        "notes": levels_moved(found, system),
    }


def _value(found: Size, place: int) -> dict[str, Any]:
    tried, days = found.tried, found.tried.outcome.days(place)
    return {
        "value": tried.axis.dial.texts[place],
        "inside": float(tried.axis.values[place]),
        "years_that_hold": found.years - int(tried.failing[place]),
        "parts_of_years_that_fail": int(tried.parts_failing[place]),
        "dry_days": days.dry,
        "held_back_days": days.held_back,
        "stressed_days": days.stressed,
    }


def _table(found: Size) -> tuple[list[str], list[list[Any]]]:
    """Every value tried and what became of it."""
    tried, outcome = found.tried, found.tried.outcome
    head = [tried.axis.dial.path, "holds", "years that fail", "parts of years that fail"]
    head += ["dry_days", "dry_days of worst year", "unserved_days", "held_back_days", "stressed_days"]
    head += ["reliability_volume", "delivered [L]", "overflow [L]"]
    rows = [
        [
            text,
            "yes" if tried.holds[i] else "no",
            int(tried.failing[i]),
            int(tried.parts_failing[i]),
            int(outcome.dry_days[i]),
            int(outcome.by_year["dry_days"][:, i].max()),
            int(outcome.unserved_days[i]),
            int(outcome.held_back_days[i]),
            int(outcome.stressed_days[i]),
            None if np.isnan(outcome.reliability_volume[i]) else float(outcome.reliability_volume[i]),
            float(outcome.delivered[i]),
            float(outcome.overflow[i]),
        ]
        for i, text in enumerate(tried.axis.dial.texts)
    ]
    return head, rows
