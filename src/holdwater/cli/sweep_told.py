"""What `holdwater sweep` prints: its designs or the best of them, how sure they are, and levels that moved."""

from __future__ import annotations

from holdwater.charts.swept import at
from holdwater.cli import confidence
from holdwater.cli.text import columns
from holdwater.studies.levels import moving
from holdwater.studies.sweep import Sweep, design, rationed, score_of
from holdwater.studies.sweep_confidence import SweepConfidence
from holdwater.units import System

MOST_CELLS, MOST_ROWS = 11, 15
HEADS = {
    "dry_days": "dry days",
    "held_back_days": "held back",
    "stressed_days": "beds short",
    "unserved_days": "unserved days",
    "longest_dry_spell": "longest dry spell",
    "dry_days_of_worst_year": "dry days of worst year",
}


def table(found: Sweep, system: System) -> str:
    """All designs of a short curve or a small map; else the best."""
    if _small_map(found):
        texts = [f"{int(value):,}" for value in found.outcome.dry_days]
        what = "Dry days"
        if rationed(found.base.scenario, found.outcome):
            held = found.outcome.held_back_days
            texts = [f"{dry} / {int(days):,}" for dry, days in zip(texts, held, strict=True)]
            what += " / days on which draws were held back by their own rules"
        return f"{what}, {_down_across(found)}:\n\n{_cells(found, texts, system)}"
    rows = columns(_rows(found, _told(found), system), left=())
    if len(_told(found)) == found.grid.size:
        return rows
    return (
        f"The {len(_told(found))} with the fewest dry days, of {found.grid.size:,}; of equals those with"
        f" nothing else worse, and nearest to the present:\n\n{rows}"
    )


def _small_map(found: Sweep) -> bool:
    return len(found.axes) == 2 and max(found.grid.shape) <= MOST_CELLS


def _told(found: Sweep) -> list[int]:
    """Designs that stand in the table: all of a short curve, else the best."""
    if len(found.axes) == 1 and found.grid.size <= MOST_ROWS:
        return list(range(found.grid.size))
    return found.best(min(10, found.grid.size))


def _rows(found: Sweep, designs: list[int], system: System) -> list[list[str]]:
    shown = _shown(found)
    rows = [[*(each.label for each in found.axes), *(HEADS[name] for name in shown), "water met"]]
    met = found.outcome.reliability_volume
    for i in designs:
        values = [each.say(k, system) for each, k in zip(found.axes, design(found, i), strict=True)]
        counts = [f"{int(score_of(found.outcome, name)[i]):,}" for name in shown]
        rows.append([*values, *counts, "" if met[i] != met[i] else f"{100 * met[i]:.1f} %"])
    return rows


def _shown(found: Sweep) -> list[str]:
    """Scores that the table tells: days held back wherever a draw has a rule, days of thirst where beds had any."""
    left_out = set()
    if not rationed(found.base.scenario, found.outcome):
        left_out.add("held_back_days")
    if not found.outcome.stressed_days.any():
        left_out.add("stressed_days")
    return [name for name in HEADS if name not in left_out]


def levels_moved(found: Sweep, system: System) -> list[str]:
    """Which levels given as a share mean other amounts of water at the ends of a dial."""
    changed = []
    for d, each in enumerate(found.axes):
        for i in (0, len(each.dial.texts) - 1):
            named = f"{each.label} {each.say(i, system)}"
            changed.append((named, found.grid.file(found.base, [d], [i]).scenario))
    return moving(found.base.scenario, changed, system)


def _down_across(found: Sweep) -> str:
    down, across = found.axes
    return f"{down.label} down, {across.label} across"


def _cells(found: Sweep, texts: list[str], system: System) -> str:
    """A cell for every design, over two dials."""
    down, across = found.axes
    rows = [["", *(across.say(j, system) for j in range(found.grid.shape[1]))]]
    for i in range(found.grid.shape[0]):
        start = i * found.grid.shape[1]
        rows.append([down.say(i, system), *texts[start : start + found.grid.shape[1]]])
    return columns(rows)


def sure(found: Sweep, drawn: SweepConfidence, system: System) -> str:
    """How far off the dry days a year may be, design by design, and how surely the best is better than now."""
    lines = [f"How sure is that? {drawn.drawing.words}, the same for every design:"]
    dry = [confidence.between(drawn, "dry_days_per_year", i, 1.0) for i in range(found.grid.size)]
    share = f"{100 * drawn.drawing.level:.0f} % of those drawn"
    if _small_map(found):
        lines += [f"dry days a year in {share}, {_down_across(found)}:", "", _cells(found, dry, system)]
    else:
        lines.append(columns(_sure_rows(found, drawn, dry, share, system), left=()))
    best = found.best(1)[0]
    if [each.present_place for each in found.axes] != list(design(found, best)):
        lines.append(
            f"  Against the present set-up, {at(found, best, system)} has {confidence.better(drawn, best)}."
        )
    return "\n".join([*lines, f"  {confidence.CAUTION}"])


def _sure_rows(
    found: Sweep, drawn: SweepConfidence, dry: list[str], share: str, system: System
) -> list[list[str]]:
    head = [each.label for each in found.axes] + ["dry days a year", share, "water met", share]
    rows = [[*head, "fewer dry days than now"]]
    met = found.outcome.reliability_volume
    for i in _told(found):
        values = [each.say(k, system) for each, k in zip(found.axes, design(found, i), strict=True)]
        asked = met[i] == met[i]
        rows.append(
            [
                *values,
                f"{found.outcome.dry_days_per_year[i]:,.1f}",
                dry[i],
                f"{100 * met[i]:.1f} %" if asked else "",
                f"{confidence.between(drawn, 'reliability_volume', i, 100.0)} %" if asked else "",
                f"in {drawn.fewer[i]:,} of {drawn.drawing.samples:,}"
                if drawn.fewer[i] or drawn.more[i]
                else "the same",
            ]
        )
    return rows
