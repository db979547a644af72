"""`holdwater compare`: set-ups side by side."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from holdwater import words
from holdwater.charts.compared import finding
from holdwater.charts.files import picture, write
from holdwater.charts.variant_calendars import calendars
from holdwater.charts.variants import storage_overlay
from holdwater.cli.compare_data import as_data, flat, notes_on_levels, worst_year
from holdwater.cli.study import Asked, Records, closing, notes, progress, write_rows
from holdwater.cli.text import as_json, columns
from holdwater.errors import InputError
from holdwater.report.files import staged
from holdwater.scenario import heights, variant_names
from holdwater.studies.compare import (
    PRESENT,
    Compared,
    Comparison,
    SetUp,
    Window,
    days_between,
    last_year,
    roof_areas,
    worst,
)
from holdwater.studies.compare import compare as side_by_side
from holdwater.studies.offers import cost_of
from holdwater.units import Level, System, read, show

FILES = ("compare.json", "compare.csv", "charts/compare-storage", "charts/compare-dry-days")


@dataclass(frozen=True)
class WindowAsked:
    """The days to look at, as typed."""

    first: dt.date | None
    last: dt.date | None
    worst: int | None
    last_year: bool
    starting: str | None

    def choose(self) -> Callable[[Compared], Window] | None:
        """What chooses the days; None for all of them.

        Raises
        ------
        InputError
            Days chosen in two ways.
        """
        ways = {
            "--from and --to": self.first is not None or self.last is not None,
            "--worst": self.worst is not None,
            "--last-year": self.last_year,
        }
        chosen = [way for way, given in ways.items() if given]
        if len(chosen) > 1:
            raise InputError(f"{', '.join(chosen)} choose different days; give one of them")
        if self.worst is not None:
            return worst(self.worst)
        if self.last_year:
            return last_year
        return days_between(self.first, self.last) if chosen else None

    def level(self) -> Level | None:
        """Water to start with.

        Raises
        ------
        InputError
            It is no level, or there are no days to start into.
        """
        if self.starting is None:
            return None
        if self.choose() is None:
            raise InputError(
                "--starting sets the water at the start of a drought; choose one with --worst, --last-year,"
                ' or --from and --to (run.start_full is what the whole run starts from: --set "run.start_full=0.8")'
            )
        try:
            return read(self.starting, "level")
        except InputError as fault:
            raise InputError([f"--starting {said}" for said in fault.faults]) from None


def run(
    asked: Asked,
    names: list[str],
    areas: str | None,
    roof: str | None,
    window: WindowAsked,
    json: bool,
    quiet: bool,
) -> None:
    """Run the set-ups, write the tables and charts, and print the table."""
    if roof is not None and areas is None:
        raise InputError("--roof says which roof --roof-areas is about; give its areas too")
    choose, starting = window.choose(), window.level()
    set_ups = chosen(asked, names, areas, roof)
    file, system = set_ups[0].file, set_ups[0].file.scenario.show_units
    records = Records(file.path.parent)
    with progress(json or quiet) as bar:
        bar.of(len(set_ups) + 2)

        def tell(name: str) -> None:
            bar.done(1)
            bar.doing(name)

        made = side_by_side(set_ups, records, choose, starting, tell)
        told = as_data(made, system)
        bar.doing("drawing")
        with staged(asked.folder) as stage:
            (stage / "compare.json").write_text(as_json(told) + "\n", "utf-8")
            rows = [list(flat(each).values()) for each in told["set_ups"]]
            write_rows(stage / "compare.csv", list(flat(told["set_ups"][0])), rows)
            charts = stage / "charts"
            write(picture(storage_overlay(made, system), "compare-storage"), charts)
            write(picture(calendars(made, system), "compare-dry-days"), charts)
    if json:
        print(as_json(told))
    elif not quiet:
        print(finding(made))
        print(f"\n{table(made, system)}")
        if made.window is not None:
            print(f"\n{_window(made, system)}")
        turned = heights.in_general(file.raw, [each.file.raw for each in set_ups[1:]])
        said = [*turned, *notes_on_levels(made, system), *notes(file, records(file.scenario))]
        closing(said, asked.folder, FILES)


def chosen(asked: Asked, names: list[str], areas: str | None, roof: str | None) -> list[SetUp]:
    """The present and what it is compared with: what-ifs by name, all of them, or areas of a roof.

    Raises
    ------
    InputError
        An unknown what-if or roof; a what-if that does not hold together; nothing to compare.
    """
    present = asked.file
    wanted = names or ([] if areas is not None else variant_names(present))
    set_ups = [SetUp(PRESENT, present)]
    faults: list[str] = []
    for name in dict.fromkeys(wanted):
        try:
            file = asked.load(name)
        except InputError as fault:
            faults += [said for said in fault.faults if said not in faults]
        else:
            price = cost_of(present.scenario, file.scenario, present.raw.get("variant", {}).get(name))
            set_ups.append(SetUp(name, file, price))
    if faults:
        raise InputError(faults)
    set_ups += roof_areas(present, areas, roof) if areas is not None else []
    if len(set_ups) == 1:
        raise InputError(
            "there is nothing to compare: the file has no [variant]; add one, or give --roof-areas"
        )
    return set_ups


# ------------------------------------------------------------------------------------------- words


def table(made: Comparison, system: System) -> str:
    """The set-ups side by side; only columns that hold something."""
    present = made.compared[0]
    years = 1.0 if made.window is not None else present.ledger.days.size / 365.25
    rows = [_row(each, present, years, system) for each in made.compared]
    shown = [i for i in range(len(rows[0])) if i == 0 or any(row[i] not in ("", "0", "-") for row in rows)]
    head = list(HEAD)
    if made.window is not None:
        for name in ("backup", "loads", "cost"):
            head[HEAD.index(f"{name} a year")] = name
    return columns([[head[i] for i in shown], *([row[i] for i in shown] for row in rows)])


HEAD = (
    "set-up",
    "dry days",
    "change",
    "unserved",
    "longest spell",
    "worst year",
    "water met",
    "beds short",
    "held back",
    "backup a year",
    "loads a year",
    "cost a year",
    "cost in all",
    "price",
)


def _row(each: Compared, present: Compared, years: float, system: System) -> list[str]:
    scores, longest = each.scores, each.scores.longest_dry_spell
    change = scores.dry_days.total - present.scores.dry_days.total
    year = worst_year(each)
    return [
        words.plain(each.name),
        f"{scores.dry_days.total:,}",
        "" if each is present else f"{change:+,}" if change else "0",
        f"{scores.unserved_days:,}",
        "-" if longest is None else f"{words.count(longest.days, 'day')}, {words.briefly(longest.first)}",
        "-" if year is None else f"{year[0]}: {year[1]}",
        "" if scores.reliability_volume is None else f"{100 * scores.reliability_volume:.1f} %",
        f"{each.days.stressed:,}",
        f"{each.days.held_back:,}",
        show(scores.totals_L["backup"] / years, "bulk", system) if scores.totals_L["backup"] else "0",
        f"{scores.loads / years:,.1f}".removesuffix(".0"),
        f"{scores.cost / years:,.0f}",
        f"{scores.cost:,.0f}" if years != 1.0 else "",
        "" if each.set_up.cost is None else f"{each.set_up.cost:,.0f}",
    ]


def _window(made: Comparison, system: System) -> str:
    assert made.window is not None
    first, last = words.on(made.window.first), words.on(made.window.last)
    said = f"Looked at: {first} to {last} ({made.window.why})."
    if made.starting is None:
        begun = ", ".join(
            f"{words.plain(each.name)} {show(each.opening_L, 'bulk', system)}" for each in made.compared
        )
        return f"{said}\nOn the first morning, run from the start of the record, they held: {begun}."
    return f"{said}\nAll start with {show(made.starting, 'level', system)}; {made.assumed}."
