"""What `holdwater size` prints: the answer, what it costs, the values beside it, and how it was searched."""

from __future__ import annotations

import numpy as np

from holdwater import words
from holdwater.cli.text import columns
from holdwater.scenario.schema import Refill
from holdwater.studies.drawbacks import drawbacks, listed
from holdwater.studies.levels import moving, wider_instead
from holdwater.studies.quantity import say
from holdwater.studies.size import Size, Target
from holdwater.studies.sweep import rationed
from holdwater.units import System, show


def sentence(found: Size, system: System) -> str:
    """The answer, with the days on which draws are held back and beds short of water, which dry days do not tell."""
    return " ".join([f"{_answer(found, system)}.", *wanting(found)])


def title(found: Size, system: System) -> str:
    """The answer, and what is worse with it than at present, dry days apart."""
    said = _answer(found, system)
    if found.answer is None:
        return f"{said}."
    worse = drawbacks(found.present.days(0), found.tried.outcome.days(found.answer))
    return f"{said}, but {listed(worse)}." if worse else f"{said}."


def _answer(found: Size, system: System) -> str:
    name, label = words.holding(found.base.scenario.title), found.tried.axis.label
    what, said = _what(found.target), told(found, found.place, system)
    if found.answer is None:
        return (
            f"Not even {label} {said} is enough: {name} would not have got through"
            f" {_lost(found)} with {what}, and {_allowed(found)}"
        )
    more = "or more" if found.grows else "or less"
    return f"With {label} {said} {more}, {name} gets through {_held(found)} with {what}"


def _held(found: Size) -> str:
    """ "at least 9 of 10 years", "all 30 years"; of a record without a whole year "all 200 days"."""
    n = found.years
    if found.may_fail:
        return f"at least {n - found.may_fail} of {words.count(n, 'year')}"
    if n == 1:
        return "the one whole year"
    return f"all {words.count(n, 'year') if n else words.count(found.present.n_days, 'day')}"


def _lost(found: Size) -> str:
    """The years that do not hold with the value that helps most, and parts of years."""
    years, parts = (int(each[found.place]) for each in (found.tried.failing, found.tried.parts_failing))
    if not found.years:
        return f"the {words.count(found.present.n_days, 'day')} on record"
    of_all = f"{years} of {words.count(found.years, 'year')}" if found.years > 1 else "the one whole year"
    said = [of_all] if years else []
    if parts:
        said.append(
            f"{words.count(parts, 'part')} of a year at the end{'s' if parts > 1 else ''} of the record"
        )
    return " and ".join(said)


def wanting(found: Size) -> list[str]:
    """Say which draws are held back at the answer, and how long beds are short of water there."""
    said = []
    held = [
        f"{words.plain(name)} on {words.count(days, 'day')} (now {f'{now:,}' if now else 'none'})"
        for name, (days, now) in found.held_back.items()
    ]
    if held:
        rules = "their own rules" if held[1:] else "its own rule"
        said.append(f"Held back by {rules} then, and not counted as dry: {', '.join(held)}.")
    if found.answer is not None:
        then, now = found.tried.outcome.days(found.answer), found.present.days(0)
        if then.stressed:
            short = (
                f"{words.count(then.stressed, 'day')} (now {f'{now.stressed:,}' if now.stressed else 'none'})"
            )
            said.append(f"Beds are short of water then on {short}.")
    return said


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
    places = sorted({0, count - 1, *(p for p in range(found.place - 2, found.place + 3) if 0 <= p < count)})
    counts = {
        "dry days": tried.outcome.dry_days,
        "worst year": tried.outcome.by_year["dry_days"].max(axis=0),
    }
    if rationed(found.base.scenario, tried.outcome):
        counts["held back"] = tried.outcome.held_back_days
    if (tried.outcome.stressed_days > 0).any():
        counts["beds short"] = tried.outcome.stressed_days
    rows = [[tried.axis.label, "years that hold" if found.years else "holds", *counts, "water met"]]
    met = tried.outcome.reliability_volume
    for p in places:
        rows.append(
            [
                tried.axis.say(p, system) + (" *" if p == found.answer else ""),
                _years_cell(found, p),
                *(f"{int(each[p]):,}" for each in counts.values()),
                "" if np.isnan(met[p]) else f"{100 * met[p]:.1f} %",
            ]
        )
    return columns(rows)


def _years_cell(found: Size, place: int) -> str:
    """ "3 of 4", "4 of 4, not a part"; yes or no without a whole year."""
    tried, n = found.tried, found.years
    if not n:
        return "yes" if tried.holds[place] else "no"
    parts = int(tried.parts_failing[place])
    said = f"{n - int(tried.failing[place])} of {n}"
    return f"{said}, not {words.count(parts, 'part')}" if parts else said


def answers(found: Size, system: System) -> list[str]:
    """The present, the edges of the search, what larger does not change, the bound, and how it was searched."""
    tried, n = found.tried, found.years
    lost, parts = found.present_failing
    present = tried.axis.present
    now = "" if np.isnan(present) else f" ({say(present, tried.axis.kind, system)})"
    if n:
        said = [f"Now{now} {n - lost} of {words.count(n, 'year')} hold{_parts_of_years(found)}."]
    else:
        said = [f"Now{now} it {'does not hold' if parts else 'holds'}."]
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


def _parts_of_years(found: Size) -> str:
    """What the parts of years at the ends of the record count for; empty where there are none."""
    names = [str(year) for year in found.present.years[~found.whole]]
    if not names:
        return ""
    what, they = ("parts", "they") if names[1:] else ("a part", "it")
    instead = "takes the place of a year that may fail" if found.may_fail else "is not enough"
    return (
        f"; of {' and '.join(names)} the record has only {what}: {they} count{'' if names[1:] else 's'} as no"
        f" year, but one that does not hold {instead}"
    )


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


def levels_moved(found: Size, system: System) -> list[str]:
    """Which levels given as a share mean other amounts of water with the value found."""
    named = f"{found.tried.axis.label} {found.tried.axis.say(found.place, system)}"
    return moving(found.base.scenario, [(named, found.at_place)], system)
