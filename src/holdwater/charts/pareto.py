"""What the next purchase buys: its price against the dry days left."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.markers import MarkerStyle
from matplotlib.ticker import FuncFormatter, MaxNLocator

from holdwater import words
from holdwater.charts import look
from holdwater.charts.reading import amount, amounts
from holdwater.charts.sheet import LEFT, WIDTH, page, width, wrap
from holdwater.charts.study import foot, years_of
from holdwater.studies.drawbacks import gains, listed
from holdwater.studies.purchase import Bought, Purchases
from holdwater.units import System

PRICED = look.Role("offer with a price", "#0f6fb5")
BEST = look.Role("no cheaper one has fewer dry days", "#14476e")
UNPRICED = look.Role("no price known", "#c4501b")
NOW = look.Role("present", look.INK)
WORSE = look.Role("worse for beds, or more days held back or unserved", look.INK)
STAR = MarkerStyle((6, 2, 0))  # an asterisk, as behind the names
TALL = 4.0
NAMES = 2.7
"""Room for the names of offers without a price [in]."""
NAMED, DOT = 2.2, 0.07
"""Widest line of a name beside its point, and half the width of a point [in]."""
SIDES = ((1, 1.0), (1, -1.0), (-1, 1.0), (-1, -1.0), (1, 0.0), (-1, 0.0), (1, 3.2), (-1, 3.2), (1, 5.4))
"""Where a name may stand: right or left of its point, and how far above it in heights of half a name."""
Place = tuple[float, float, float, float]


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
        top = made.key(_entries(found, priced, unpriced), made.top) - 0.1
        low = made.bottom + 0.5
        tall = top - low
        side = NAMES + 0.3 if unpriced else 0.0
        wide = WIDTH - LEFT - 0.5 - side if priced else 1.2
        axes = made.axes(LEFT, low, wide, tall)
        most = max(each.dry_days for each in (found.present, *found.bought)) / years or 1.0
        _up(axes, most)
        _prices(axes, found, priced, years, (wide, tall))
        if unpriced:
            left = LEFT + wide + 0.25
            beside = made.axes(left, low, WIDTH - left - 0.3, tall)
            _side(beside, found, unpriced, most, (WIDTH - left - 0.3, tall))
        return made.figure


def finding(found: Purchases) -> str:
    """Say what buys most dry days back for its price, what buys most whatever it costs, and what is worse with them.

    Where one that is named makes something else worse, the best that makes nothing worse is named too.
    """
    name, length = words.holding(found.base.scenario.title), years_of(found.site.record)
    began = f"{name} had {words.count(found.present.dry_days, 'dry day')} in {length}"
    buys = [each for each in found.bought if each.back > 0.0]
    if not buys:
        return f"{began}; {_besides(found)}."
    most = min(buys, key=lambda b: b.days.rank)
    best = next((each for each in buys if each.back_per_thousand is not None), None)
    said = []
    if best is not None:
        said.append(f"{_quoted(best)} buys most for its price and leaves {_left(found, best)}")
    if most is not best:
        as_few = best is not None and most.dry_days == best.dry_days
        and_ = " and makes nothing worse" if as_few and not found.worse(most) else ""
        fewest = f"{'fewest, ' if most.dry_days else ''}{_left(found, most)}"
        said.append(f"{_quoted(most)} leaves {'as few' if as_few else fewest}{and_}")
    named = [each for each in (best, most) if each is not None]
    clean = [each for each in buys if not found.worse(each)]
    if clean and all(found.worse(each) for each in named):
        free = min(clean, key=lambda b: b.days.rank)
        said.append(f"{_quoted(free)} leaves {free.dry_days:,} and makes nothing worse")
    return f"{began}; {'; '.join([*said, *(['no offer has a price'] if best is None else [])])}."


def _left(found: Purchases, each: Bought) -> str:
    """Dry days an offer leaves, and what it makes worse."""
    worse = found.worse(each)
    return (f"{each.dry_days:,}" if each.dry_days else "none") + (f", but {listed(worse)}" if worse else "")


def _besides(found: Purchases) -> str:
    """No offer buys a dry day back: what the best of them does for the rest."""
    idle = "nothing on offer buys any of them back" if found.present.dry_days else "none can be bought back"
    same = [each for each in found.bought if each.dry_days == found.present.dry_days]
    best = min(same, key=lambda b: b.days.rank, default=None)
    if best is None or best.days.rank >= found.present.days.rank:
        return idle
    worse = found.worse(best)
    but = f", but {listed(worse)}" if worse else ""
    idle = f"{idle}; " if found.present.dry_days else ""
    return f"{idle}{_quoted(best)} leaves {listed(gains(found.present.days, best.days))}{but}"


def _quoted(each: Bought) -> str:
    return f"\u201c{words.plain(each.offer.name)}\u201d"


def _entries(found: Purchases, priced: Sequence[Bought], unpriced: Sequence[Bought]) -> list[Artist]:
    known: list[Artist] = [_dot(NOW, "D")]
    if priced:
        known += [_dot(PRICED, "o"), Line2D([], [], color=BEST.colour, linewidth=1.4, label=BEST.label)]
    if unpriced:
        known.append(_dot(UNPRICED, "s"))
    if any(found.worse(each) for each in found.bought):
        known.append(_dot(WORSE, STAR))
    return known


def _name(found: Purchases, each: Bought) -> str:
    """Name of an offer, with an asterisk where it makes something worse."""
    return words.plain(each.offer.name) + ("*" if found.worse(each) else "")


def _dot(role: look.Role, marker: str | MarkerStyle) -> Line2D:
    return Line2D([], [], linestyle="none", marker=marker, color=role.colour, markersize=7, label=role.label)


def _prices(
    axes: Axes, found: Purchases, priced: Sequence[Bought], years: float, size: tuple[float, float]
) -> None:
    """The present, the offers with a price and the line of the best buys, with their names."""
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
        at = (each.offer.cost or 0.0, each.dry_days / years)
        axes.plot(*at, "o", color=PRICED.colour, markersize=7, zorder=4)
    if priced:
        axes.xaxis.set_major_locator(MaxNLocator(nbins=6, steps=[1, 2, 2.5, 5, 10]))
        axes.xaxis.set_major_formatter(FuncFormatter(amount))
        axes.set_xlabel("Price, in the currency of the file")
        steps = list(zip([*x, 1.12 * high], [*y, y[-1]], strict=True))
        _name_points(axes, found, priced, steps, size)
    else:
        axes.set_xticks([])


def _name_points(
    axes: Axes,
    found: Purchases,
    priced: Sequence[Bought],
    steps: Sequence[tuple[float, float]],
    size: tuple[float, float],
) -> None:
    """Write each name beside its point, clear of the line, of the points and of the other names."""
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    years = found.site.record.days.size / 365.25

    def place(x: float, y: float) -> tuple[float, float]:
        return (x - left) / (right - left) * size[0], (y - low) / (high - low) * size[1]

    spots = [place(each.offer.cost or 0.0, each.dry_days / years) for each in priced]
    corners = [place(*corner) for corner in steps]
    taken = [(x - DOT, y - DOT, x + DOT, y + DOT) for x, y in spots]
    for (x0, y0), (x1, y1) in pairwise(corners):
        taken += [_box(x0, y0, x1, y0), _box(x1, y0, x1, y1)]
    for each, (x, y) in zip(priced, spots, strict=True):
        lines = wrap(_name(found, each), look.LABEL, min(NAMED, 0.45 * size[0]))
        wide = max(width(line, look.LABEL) for line in lines)
        tall = 0.16 * len(lines)
        tried = [_beside(x, y, wide, tall, *side) for side in SIDES]
        fits = [box for box in tried if _inside(box, size) and not any(_meets(box, b) for b in taken)]
        box = (fits or [box for box in tried if _inside(box, size)] or tried)[0]
        taken.append(box)
        text = axes.text(
            (box[0] + box[2]) / 2 / size[0],
            (box[1] + box[3]) / 2 / size[1],
            "\n".join(lines),
            transform=axes.transAxes,
            ha="center",
            va="center",
            fontsize=look.LABEL,
            bbox=look.LIFTED,
            zorder=3,
        )
        text.set_gid("point")


def _beside(x: float, y: float, wide: float, tall: float, right: int, up: float) -> Place:
    """Room for words beside a point: to its right or left, above, at or below its height [in]."""
    start = x + 0.12 if right > 0 else x - 0.12 - wide
    middle = y + up * (tall / 2 + 0.04)
    return start, middle - tall / 2, start + wide, middle + tall / 2


def _box(x0: float, y0: float, x1: float, y1: float) -> Place:
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


def _inside(box: Place, size: tuple[float, float]) -> bool:
    return box[0] >= 0.0 and box[1] >= 0.0 and box[2] <= size[0] and box[3] <= size[1]


def _meets(one: Place, other: Place) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _side(
    axes: Axes, found: Purchases, unpriced: Sequence[Bought], most: float, size: tuple[float, float]
) -> None:
    """Offers without a price at their height, their names moved apart where they crowd."""
    wide, tall = size
    years = found.site.record.days.size / 365.25
    _up(axes, most)
    axes.set_xlim(0, wide)
    axes.set_xticks([])
    axes.tick_params(axis="y", length=0, labelleft=False)
    axes.set_xlabel("No price known")
    axes.set_ylabel("")
    axes.grid(visible=False)
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    order = sorted(unpriced, key=lambda each: each.days.rank)
    names = [wrap(_name(found, each), look.TICK, wide - 0.55) for each in order]
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
