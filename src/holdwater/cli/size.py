"""`holdwater size`: how big must it be?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from holdwater import words
from holdwater.charts.curve import curve_chart, of_size
from holdwater.charts.files import picture, write
from holdwater.cli import confidence
from holdwater.cli.running import Lot
from holdwater.cli.study import Asked, Records, closing, notes, period, progress, weather, write_rows
from holdwater.cli.text import as_json, columns
from holdwater.report.files import staged
from holdwater.scenario.schema import Refill
from holdwater.studies.engine import Site
from holdwater.studies.levels import wider_instead
from holdwater.studies.quantity import say
from holdwater.studies.size import Size, Target, read_years, size
from holdwater.units import System, show

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
            curve = of_size(found, system, sentence(found, system))
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
        closing(notes(file, record), asked.folder, FILES)


# ------------------------------------------------------------------------------------------- words


def sentence(found: Size, system: System) -> str:
    """The answer in one sentence."""
    tried, n = found.tried, found.present.years.size
    name, label = words.holding(found.base.scenario.title), tried.axis.label
    holds = (
        f"{n - found.may_fail} of {words.count(n, 'year')}"
        if found.may_fail
        else f"all {words.count(n, 'year')}"
    )
    what = _what(found.target)
    if found.answer is None:
        most = -1 if found.grows else 0
        fails = int(tried.failing[most])
        return (
            f"Not even {label} {told(found, most, system)} is enough: {name} would not have got through"
            f" {fails} of {words.count(n, 'year')} with {what}, and {_allowed(found)}."
        )
    said = told(found, found.answer, system)
    more = "or more" if found.grows else "or less"
    return f"With {label} {said} {more}, {name} gets through {holds} with {what}."


def told(found: Size, place: int, system: System) -> str:
    """A value in the units shown, and as it was written where those are others."""
    shown, written = found.tried.axis.say(place, system), found.tried.axis.dial.texts[place]
    return shown if shown.replace(",", "") == written.replace(",", "") else f"{written} ({shown})"


def _what(target: Target) -> str:
    dry = f"at most {words.count(target.dry_days, 'dry day')} a year" if target.dry_days else "no dry day"
    if target.stress_days is None:
        return dry
    beds = words.count(target.stress_days, "day") if target.stress_days else "no day"
    return f"{dry} and {'at most ' if target.stress_days else ''}{beds} of thirst in its beds"


def _allowed(found: Size) -> str:
    return f"only {found.may_fail} may fail" if found.may_fail else "none may fail"


def around(found: Size, system: System) -> str:
    """The values next to the answer, the ends of the search, and what became of the years."""
    tried = found.tried
    count = tried.holds.size
    middle = found.answer if found.answer is not None else (count - 1 if found.grows else 0)
    places = sorted({0, count - 1, *(p for p in range(middle - 2, middle + 3) if 0 <= p < count)})
    n = found.present.years.size
    beds = bool((tried.outcome.stressed_days > 0).any())
    head = [
        tried.axis.label,
        "years that hold",
        "dry days",
        "worst year",
        "water met",
        *(["beds short"] if beds else []),
    ]
    rows = [head]
    met = tried.outcome.reliability_volume
    for p in places:
        rows.append(
            [
                tried.axis.say(p, system) + (" *" if p == found.answer else ""),
                f"{n - int(tried.failing[p])} of {n}",
                f"{int(tried.outcome.dry_days[p]):,}",
                f"{int(tried.outcome.by_year['dry_days'][:, p].max())}",
                "" if np.isnan(met[p]) else f"{100 * met[p]:.1f} %",
                *([f"{int(tried.outcome.stressed_days[p]):,}"] if beds else []),
            ]
        )
    return columns(rows)


def answers(found: Size, system: System) -> list[str]:
    """The present, the edges of the search, what larger does not change, the bound, and how it was searched."""
    tried, n = found.tried, found.present.years.size
    said = []
    held = n - int(found.target.failing(found.present)[0])
    present = tried.axis.present
    now = "" if np.isnan(present) else f" ({say(present, tried.axis.kind, system)})"
    said.append(f"Now{now} {held} of {words.count(n, 'year')} hold.")
    if found.answer is not None and found.answer == (0 if found.grows else tried.holds.size - 1):
        said.append(
            f"That is the {'lowest' if found.grows else 'highest'} value tried; every one holds."
            f" Look {'lower' if found.grows else 'higher'} for the edge."
        )
    if found.stray is not None:
        said.append(
            f"{tried.axis.say(found.stray, system)} holds too, but values beyond it do not: a chance of this weather."
        )
    level = plateau(found)
    if level is not None:
        said.append(
            f"From {tried.axis.say(level, system)} {'on' if found.grows else 'down'} nothing changes any more"
            + _why_plateau(found)
        )
    said.append(bound(found, system))
    count = tried.holds.size
    how = (
        f"Every one of {count:,} values was tried: {found.scanned}."
        if found.scanned
        else (
            f"{count:,} values were tried"
            + ("; from one point on they hold, before it none does." if found.answer is not None else ".")
        )
    )
    said.append(how)
    if any(isinstance(backup, Refill) for backup in found.base.scenario.backup):
        name = next(b.name for b in found.base.scenario.backup if isinstance(b, Refill))
        said.append(f'To size it without the water brought: --set "backup-={name}"')
    return said


def plateau(found: Size) -> int | None:
    """The value from which on the water delivered and spilled stays the same to the end, if not only there."""
    order = slice(None) if found.grows else slice(None, None, -1)
    outcome = found.tried.outcome
    same = np.ones(found.tried.holds.size, dtype=bool)
    for values in (outcome.delivered[order], outcome.overflow[order]):
        same &= np.isclose(values, values[-1], rtol=1e-9, atol=1e-6)
    first = int(np.flatnonzero(~same)[-1]) + 1 if not same.all() else 0
    if first >= same.size - 2:
        return None
    return first if found.grows else same.size - 1 - first


def _why_plateau(found: Size) -> str:
    """Linked tanks spill at the lowest overflow: whose it is, and what to vary instead."""
    tried = found.tried
    said = wider_instead(found.base, tried.axis.dial.changes(tried.holds.size - 1 if found.grows else 0))
    return f": {said}" if said else "."


def bound(found: Size, system: System) -> str:
    """The sequent-peak capacity as a sentence."""
    peak = found.peak
    present = show(max(0.0, peak.present_L), "bulk", system)
    if peak.capacity_L is None:
        return (
            f"Sequent peak (Thomas & Burden 1963): the draws want more than the roofs bring"
            f" ({show(peak.asked_L, 'bulk', system)} against {show(peak.came_L, 'bulk', system)} in all):"
            " no storage is enough without backup."
        )
    need = show(peak.capacity_L, "bulk", system)
    yas = show(peak.capacity_L + peak.margin_L, "bulk", system)
    return (
        f"Sequent peak (Thomas & Burden 1963): tanks that give {need} from full (reserve apart) never run dry"
        f" under YBS, {yas} surely not under YAS; those here give {present}."
    )


# -------------------------------------------------------------------------------------------- data


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
            "years_on_record": int(found.present.years.size),
            "years_that_may_fail": found.may_fail,
        },
        "more_helps": found.grows,
        "answer": answer,
        "also_holds": None if found.stray is None else _value(found, found.stray),
        "present": None if np.isnan(tried.axis.present) else tried.axis.present,
        "present_years_that_hold": int(found.present.years.size - found.target.failing(found.present)[0]),
        "tried": int(tried.holds.size),
        "scanned": found.scanned or None,
        "sequent_peak": {
            "capacity_L": found.peak.capacity_L,
            "margin_for_YAS_L": found.peak.margin_L,
            "present_L": found.peak.present_L,
            "asked_L": found.peak.asked_L,
            "inflow_L": found.peak.came_L,
        },
    }


def _value(found: Size, place: int) -> dict[str, Any]:
    tried = found.tried
    return {
        "value": tried.axis.dial.texts[place],
        "inside": float(tried.axis.values[place]),
        "years_that_hold": int(found.present.years.size - tried.failing[place]),
        "dry_days": int(tried.outcome.dry_days[place]),
        "stressed_days": int(tried.outcome.stressed_days[place]),
    }


def _table(found: Size) -> tuple[list[str], list[list[Any]]]:
    """Every value tried and what became of it."""
    tried, outcome = found.tried, found.tried.outcome
    head = [tried.axis.dial.path, "holds", "years that fail", "dry_days", "dry_days of worst year"]
    head += ["unserved_days", "stressed_days", "reliability_volume", "delivered [L]", "overflow [L]"]
    rows = [
        [
            text,
            "yes" if tried.holds[i] else "no",
            int(tried.failing[i]),
            int(outcome.dry_days[i]),
            int(outcome.by_year["dry_days"][:, i].max()),
            int(outcome.unserved_days[i]),
            int(outcome.stressed_days[i]),
            None if np.isnan(outcome.reliability_volume[i]) else float(outcome.reliability_volume[i]),
            float(outcome.delivered[i]),
            float(outcome.overflow[i]),
        ]
        for i, text in enumerate(tried.axis.dial.texts)
    ]
    return head, rows
