"""What the next purchase buys: its price against the dry days left."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, MaxNLocator

from holdwater import words
from holdwater.charts import look
from holdwater.charts.reading import amount, amounts
from holdwater.charts.sheet import LEFT, WIDTH, page, wrap
from holdwater.charts.study import foot, years_of
from holdwater.studies.purchase import Bought, Purchases
from holdwater.units import System

PRICED = look.Role("offer with a price", "#0f6fb5")
BEST = look.Role("no cheaper one has fewer dry days", "#14476e")
UNPRICED = look.Role("no price known", "#c4501b")
NOW = look.Role("present", look.INK)
TALL = 4.0
NAMES = 2.7
"""Room for the names of offers without a price [in]."""


def pareto_chart(found: Purchases, system: System) -> Figure:
    """Draw price against dry days a year, with the line of the best buys; offers without a price at the side.

    Parameters
    ----------
    found : Purchases
        The offers.
    system : str
        "us" or "metric"; no quantity is shown here, all charts are called alike.

    Returns
    -------
    matplotlib.figure.Figure
        Price along, dry days a year up [days per year].
    """
    del system
    with look.style():
        priced = [each for each in found.bought if each.offer.cost is not None]
        unpriced = [each for each in found.bought if each.offer.cost is None]
        years = found.site.record.days.size / 365.25
        more = "A price is the file's, or was given with --cost; where none is known none is made up."
        made = page(
            found.base.scenario.title,
            finding(found),
            foot(found.base.scenario, found.site.record, more),
            TALL + 1.0,
        )
        top = made.key(_entries(priced, unpriced), made.top) - 0.1
        low = made.bottom + 0.5
        tall = top - low
        side = NAMES + 0.3 if unpriced else 0.0
        wide = WIDTH - LEFT - 0.5 - side if priced else 1.2
        axes = made.axes(LEFT, low, wide, tall)
        most = max(each.dry_days for each in (found.present, *found.bought)) / years or 1.0
        _prices(axes, found, priced, years, wide)
        _up(axes, most)
        if unpriced:
            left = LEFT + wide + 0.25
            beside = made.axes(left, low, WIDTH - left - 0.3, tall)
            _side(beside, unpriced, years, most, (WIDTH - left - 0.3, tall))
        return made.figure


def finding(found: Purchases) -> str:
    """Say what buys most dry days back for its price, and what buys most whatever it costs."""
    name, length = words.holding(found.base.scenario.title), years_of(found.site.record)
    now = found.present.dry_days
    began = f"{name} had {words.count(now, 'dry day')} in {length}"
    buys = [each for each in found.bought if each.back > 0.0]
    if not buys:
        return f"{began}; nothing on offer buys any of them back."
    most = min(buys, key=lambda b: b.dry_days)
    best = next((each for each in buys if each.back_per_thousand is not None), None)
    said = f"\u201c{words.plain(most.offer.name)}\u201d leaves fewest, {most.dry_days:,}"
    if best is None:
        return f"{began}; {said}; no offer has a price."
    value = f"\u201c{words.plain(best.offer.name)}\u201d buys most for its price and leaves {best.dry_days:,}"
    return f"{began}; {value}." if best is most else f"{began}; {value}; {said}."


def _entries(priced: Sequence[Bought], unpriced: Sequence[Bought]) -> list[Artist]:
    known: list[Artist] = [_dot(NOW, "D")]
    if priced:
        known += [_dot(PRICED, "o"), Line2D([], [], color=BEST.colour, linewidth=1.4, label=BEST.label)]
    if unpriced:
        known.append(_dot(UNPRICED, "s"))
    return known


def _dot(role: look.Role, marker: str) -> Line2D:
    return Line2D([], [], linestyle="none", marker=marker, color=role.colour, markersize=7, label=role.label)


def _prices(axes: Axes, found: Purchases, priced: Sequence[Bought], years: float, wide: float) -> None:
    now = found.present.dry_days / years
    high = max((each.offer.cost or 0.0 for each in priced), default=1.0) or 1.0
    axes.set_xlim(-0.04 * high, 1.12 * high)
    axes.axhline(now, color=look.FAINT, linewidth=0.8, linestyle=":", zorder=1)
    line = found.frontier()
    x = [0.0 if each is found.present else each.offer.cost or 0.0 for each in line]
    y = [each.dry_days / years for each in line]
    if priced:
        axes.step([*x, 1.12 * high], [*y, y[-1]], where="post", color=BEST.colour, linewidth=1.4, zorder=2)
    axes.plot([0.0], [now], "D", color=NOW.colour, markersize=7, zorder=4, clip_on=False)
    for each in priced:
        axes.plot(
            [each.offer.cost or 0.0],
            [each.dry_days / years],
            "o",
            color=PRICED.colour,
            markersize=7,
            zorder=4,
        )
    if priced:
        axes.xaxis.set_major_locator(MaxNLocator(nbins=6, steps=[1, 2, 2.5, 5, 10]))
        axes.xaxis.set_major_formatter(FuncFormatter(amount))
        axes.set_xlabel("Price, in the currency of the file")
        _name_points(axes, priced, years, wide)
    else:
        axes.set_xticks([])


def _name_points(axes: Axes, priced: Sequence[Bought], years: float, wide: float) -> None:
    """Write each name beside its point, on the side with more room, one below the other where they crowd."""
    low, high = axes.get_xlim()
    for each in priced:
        at = ((each.offer.cost or 0.0) - low) / (high - low)
        right = at > 0.55
        lines = wrap(words.plain(each.offer.name), look.LABEL, (at if right else 1 - at) * wide - 0.2)
        text = axes.annotate(
            "\n".join(lines),
            (each.offer.cost or 0.0, each.dry_days / years),
            xytext=(-9 if right else 9, 0),
            textcoords="offset points",
            ha="right" if right else "left",
            va="center",
            fontsize=look.LABEL,
            bbox=look.LIFTED,
            zorder=3,
        )
        text.set_gid("point")


def _side(
    axes: Axes, unpriced: Sequence[Bought], years: float, most: float, size: tuple[float, float]
) -> None:
    """Offers without a price at their height, their names moved apart where they crowd."""
    wide, tall = size
    _up(axes, most)
    axes.set_xlim(0, wide)
    axes.set_xticks([])
    axes.tick_params(axis="y", length=0, labelleft=False)
    axes.set_xlabel("No price known")
    axes.set_ylabel("")
    axes.grid(visible=False)
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    order = sorted(unpriced, key=lambda each: each.dry_days)
    names = [wrap(words.plain(each.offer.name), look.TICK, wide - 0.55) for each in order]
    per = (axes.get_ylim()[1] - axes.get_ylim()[0]) / tall
    places = apart(
        [each.dry_days / years / per for each in order], [0.15 * len(n) + 0.05 for n in names], tall
    )
    for each, lines, place in zip(order, names, places, strict=True):
        at = each.dry_days / years
        axes.plot([0.1], [at], "s", color=UNPRICED.colour, markersize=6, zorder=4, clip_on=False)
        axes.plot([0.16, 0.34], [at, place * per], color=look.FAINT, linewidth=0.6, clip_on=False)
        axes.text(0.38, place * per, "\n".join(lines), va="center", fontsize=look.TICK, linespacing=1.1)


def apart(wanted: Sequence[float], highs: Sequence[float], room: float) -> list[float]:
    """Places near those wanted, in rising order, so far apart that none lies on another [in]."""
    placed: list[float] = []
    edge = 0.0
    for middle, high in zip(wanted, highs, strict=True):
        placed.append(max(middle, edge + high / 2))
        edge = placed[-1] + high / 2
    over = edge - room
    limit = room
    for i in range(len(placed) - 1, -1, -1) if over > 0 else ():
        placed[i] = min(placed[i], limit - highs[i] / 2)
        limit = placed[i] - highs[i] / 2
    return placed


def _up(axes: Axes, most: float) -> None:
    axes.set_ylim(-0.03 * most, most * 1.08)
    axes.set_ylabel("Dry days a year")
    axes.grid(axis="y")
    amounts(axes, 0, most * 1.05)
