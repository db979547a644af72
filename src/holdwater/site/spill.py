"""What an overflow pipe in a tank's wall takes: its mouth throttles it, not its length."""

from __future__ import annotations

import math
from dataclasses import dataclass

from holdwater.site.pipes import Pipe, area, bisect
from holdwater.site.sizes import FOOT
from holdwater.site.water import GRAVITY

CUBIC_FOOT = (FOOT / 100.0) ** 3
"""L"""


@dataclass(frozen=True)
class _Inlet:
    """Constants of an inlet in FHWA Hydraulic Design Series 5: below the crown K and M, above it c and Y."""

    k: float
    m: float
    c: float
    y: float


_THIN_WALL = _Inlet(0.034, 1.5, 0.0553, 0.54)
_WEIR_ENDS, _ORIFICE_STARTS = 3.5, 4.0


def overflow_head(flow: float, inside: float) -> float:
    """Water needed above the bottom of an overflow pipe where it leaves the tank wall.

    Parameters
    ----------
    flow : float
        Flow through the pipe [L/s].
    inside : float
        Inside diameter [mm].

    Returns
    -------
    float
        Height of the water above the lowest point of the bore [mm].

    Notes
    -----
    The entry is what throttles a short pipe that falls away outside: inlet control, FHWA HDS-5
    (2012) appendix A, thin-wall projecting circular pipe, level. Form 1 below 3.5, orifice above 4.0
    (Q / A D^0.5 in ft and s), a straight line between.
    """
    strength = _strength(flow, inside)
    if strength <= _WEIR_ENDS:
        share = _weir(strength)
    elif strength >= _ORIFICE_STARTS:
        share = _orifice(strength)
    else:
        low, high = _weir(_WEIR_ENDS), _orifice(_ORIFICE_STARTS)
        share = low + (high - low) * (strength - _WEIR_ENDS) / (_ORIFICE_STARTS - _WEIR_ENDS)
    return share * inside


def overflow_flow(head: float, inside: float) -> float:
    """Flow an overflow pipe takes with so much water above the lowest point of its bore.

    Parameters
    ----------
    head : float
        Height of the water above the lowest point of the bore [mm].
    inside : float
        Inside diameter [mm].

    Returns
    -------
    float
        Flow [L/s].
    """
    if head <= 0.0:
        return 0.0
    most = area(inside) * 1000.0 * math.sqrt(2.0 * GRAVITY * head / 1000.0)
    return bisect(lambda q: overflow_head(q, inside) - head, 0.0, most)


def _strength(flow: float, inside: float) -> float:
    """The handbook's measure of flow, Q / (A D^0.5) in feet and seconds."""
    d = inside / FOOT
    return flow / CUBIC_FOOT / (math.pi / 4.0 * d * d * math.sqrt(d))


def _weir(strength: float) -> float:
    """Head over diameter while the mouth is not covered (form 1): energy at critical depth and entry loss."""
    return critical_energy(strength) + _THIN_WALL.k * float(strength**_THIN_WALL.m)


def _orifice(strength: float) -> float:
    """Head over diameter when the mouth is covered."""
    return _THIN_WALL.c * strength**2 + _THIN_WALL.y


def critical_energy(strength: float) -> float:
    """Specific energy at critical depth in a round pipe, as a share of the diameter.

    Parameters
    ----------
    strength : float
        Q / (A D^0.5) in feet and seconds, A the full bore.

    Notes
    -----
    Critical where Q^2 T / (g A^3) = 1; the energy is depth + A / (2 T).
    """
    if strength <= 0.0:
        return 0.0
    full = math.pi / 4.0
    squared = (strength * full) ** 2 / (GRAVITY * 1000.0 / FOOT)

    def excess(angle: float) -> float:
        wet = (angle - math.sin(angle)) / 8.0
        return wet**3 / math.sin(angle / 2.0) - squared

    angle = bisect(excess, 1e-9, 2.0 * math.pi - 1e-9)
    wet, top = (angle - math.sin(angle)) / 8.0, math.sin(angle / 2.0)
    return 0.5 * (1.0 - math.cos(angle / 2.0)) + wet / (2.0 * top)


def larger_overflows(flow: float, room: float, than: float, sizes: list[Pipe]) -> list[tuple[Pipe, float]]:
    """The next larger pipes with the head each would need, up to the first that fits the room there is.

    Parameters
    ----------
    flow : float
        Flow to be carried [L/s].
    room : float
        Height of water the tank allows above the bottom of the overflow [mm].
    than : float
        Only pipes wider than this inside diameter [mm].
    sizes : list of Pipe
        Pipes to choose from, by rising diameter.
    """
    found: list[tuple[Pipe, float]] = []
    for pipe in sizes:
        if pipe.inside > than:
            need = overflow_head(flow, pipe.inside)
            found.append((pipe, need))
            if need <= room:
                break
    return found
