"""Pipes: sizes, the head lost to friction and fittings, the flow a head can drive, movement with warmth."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache

from holdwater import units
from holdwater.errors import InputError
from holdwater.site.sizes import FOOT
from holdwater.site.tables import read_table
from holdwater.site.water import GRAVITY, viscosity


@dataclass(frozen=True)
class Pipe:
    """One size of one kind of pipe.

    Attributes
    ----------
    kind, size : str
        As in the table, "PVC schedule 40" and "1 1/2 in".
    inside : float
        Inside diameter [mm].
    hazen_williams : float
        Smoothness C of the Hazen-Williams formula, without unit.
    roughness : float
        Height of the roughness, for Darcy-Weisbach [mm].
    source : str
        Where the dimensions come from.
    """

    kind: str
    size: str
    inside: float
    hazen_williams: float = 150.0
    roughness: float = 0.0015
    source: str = ""

    @property
    def bore(self) -> float:
        """Area of the bore [mm2]."""
        return math.pi / 4.0 * self.inside**2


@cache
def pipes() -> dict[tuple[str, str], Pipe]:
    """All pipes of the table, by kind and size."""
    return {
        (row["pipe"], row["size"]): Pipe(
            row["pipe"],
            row["size"],
            float(row["inside_mm"]),
            float(row["hazen_williams"]),
            float(row["roughness_mm"]),
            row["source"],
        )
        for row in read_table("pipes.csv")
    }


def pipe(kind: str, size: str) -> Pipe:
    """One pipe of the table.

    Parameters
    ----------
    kind : str
        Kind of pipe, "PVC schedule 40".
    size : str
        Nominal size with its unit, "1 1/2 in", "1-1/2 in", "1.5 in" or "50 mm".

    Raises
    ------
    InputError
        No such kind, or no such size of it; the message lists what there is.
    """
    kinds = {k.lower(): k for k, _ in pipes()}
    if kind.lower() not in kinds:
        raise InputError(f"pipe '{kind}' is not in the table; {_meant(kind, sorted(kinds.values()))}")
    sizes = {s: p for (k, s), p in pipes().items() if k == kinds[kind.lower()]}
    nominal = units.read(size, "height")
    for name, found in sizes.items():
        if math.isclose(units.read(name, "height"), nominal, rel_tol=1e-3):
            return found
    raise InputError(
        f"{kinds[kind.lower()]} pipe: size '{size}' is not in the table; there are {', '.join(sizes)}"
    )


def given(inside: float, kind: str = "", size: str = "") -> Pipe:
    """A pipe that is in no table, by its inside diameter [mm]; as rough as the roughest plastic of the table."""
    roughest = min(pipes().values(), key=lambda p: (p.hazen_williams, -p.roughness))
    return Pipe(
        kind,
        size,
        inside,
        roughest.hazen_williams,
        roughest.roughness,
        "inside diameter as its owner gives it",
    )


def sizes(kind: str) -> list[Pipe]:
    """All sizes of one kind of pipe by rising bore; none where the table has no such kind."""
    return sorted((p for (k, _), p in pipes().items() if k == kind), key=lambda p: p.inside)


def area(inside: float) -> float:
    """Area of a round bore, of inside diameter in mm [m2]."""
    return math.pi / 4.0 * (inside / 1000.0) ** 2


def velocity(flow: float, inside: float) -> float:
    """Mean speed of the water.

    Parameters
    ----------
    flow : float
        Flow [L/s].
    inside : float
        Inside diameter [mm].

    Returns
    -------
    float
        Speed [m/s].
    """
    return flow / 1000.0 / area(inside)


def friction_hazen_williams(flow: float, pipe: Pipe, length: float) -> float:
    """Head lost to friction by the formula of the plumbing codes.

    Parameters
    ----------
    flow : float
        Flow [L/s].
    pipe : Pipe
        Inside diameter and C.
    length : float
        Length of pipe, fittings in equivalent length included [mm].

    Returns
    -------
    float
        Head [mm].

    Notes
    -----
    h = 10.67 L Q^1.852 / (C^1.852 d^4.8704), metres and m3/s (Hazen & Williams 1905 in SI units).
    """
    q, d = flow / 1000.0, pipe.inside / 1000.0
    return float(10.67 * length * q**1.852 / (pipe.hazen_williams**1.852 * d**4.8704))


def friction_darcy(
    flow: float, pipe: Pipe, length: float, temperature: float = 10.0, loss: float = 0.0
) -> float:
    """Head lost to friction and single losses from the physics of the pipe.

    Parameters
    ----------
    flow : float
        Flow [L/s].
    pipe : Pipe
        Inside diameter and roughness.
    length : float
        Length of pipe, fittings in equivalent length included [mm].
    temperature : float
        Temperature of the water; cold water drags more [degC].
    loss : float
        Sum of the loss coefficients of entrance, exit and fittings, in speed heads.

    Returns
    -------
    float
        Head [mm].

    Notes
    -----
    Darcy-Weisbach; friction factor by Clamond's solution of Colebrook's equation, through `fluids`.
    """
    from fluids.friction import friction_factor

    if flow == 0.0:
        return 0.0
    v = velocity(flow, pipe.inside)
    reynolds = v * pipe.inside / 1000.0 / viscosity(temperature)
    factor = float(friction_factor(Re=reynolds, eD=pipe.roughness / pipe.inside))
    return (factor * length / pipe.inside + loss) * v * v / (2.0 * GRAVITY) * 1000.0


def friction(flow: float, pipe: Pipe, length: float, temperature: float = 10.0) -> float:
    """The greater of the two friction formulas, to be on the safe side [mm]; parameters as theirs."""
    return max(
        friction_hazen_williams(flow, pipe, length),
        friction_darcy(flow, pipe, length, temperature=temperature),
    )


def equivalent_length(fitting: str, pipe: Pipe) -> float:
    """Straight pipe that loses as much head as a fitting.

    Parameters
    ----------
    fitting : str
        As in the table, "90 elbow".
    pipe : Pipe
        The pipe it sits in: a published length for that size, else so many inside diameters.

    Returns
    -------
    float
        Length [mm].

    Raises
    ------
    InputError
        The fitting is not in the table.
    """
    rows = {row["size"]: row for row in read_table("fittings.csv") if row["fitting"] == fitting}
    if not rows:
        known = sorted({row["fitting"] for row in read_table("fittings.csv")})
        raise InputError(f"fitting '{fitting}' is not in the table; {_meant(fitting, known)}")
    if pipe.size in rows:
        return float(rows[pipe.size]["equivalent_ft"]) * FOOT
    return float(rows["any"]["diameters"]) * pipe.inside


def whole_length(length: float, fittings: Mapping[str, int], pipe: Pipe) -> float:
    """Length of a run with its fittings, counted by name, in equivalent length [mm]."""
    return length + math.fsum(count * equivalent_length(name, pipe) for name, count in fittings.items())


def flow_under_head(head: float, pipe: Pipe, length: float, loss: float, temperature: float = 10.0) -> float:
    """Flow that a difference in level drives through a pipe.

    Parameters
    ----------
    head : float
        Difference in level [mm].
    pipe, length, loss, temperature
        As for `friction_darcy`.

    Returns
    -------
    float
        Flow [L/s].
    """
    if head <= 0.0:
        return 0.0
    # the speed without any friction bounds the flow from above; a pipe's exit always takes one speed head
    most = math.sqrt(2.0 * GRAVITY * head / 1000.0 / max(loss, 1.0)) * area(pipe.inside) * 1000.0
    return bisect(lambda q: friction_darcy(q, pipe, length, temperature, max(loss, 1.0)) - head, 0.0, most)


def bisect(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses zero between two bounds, to the last bits.

    Halving is used because friction jumps where the flow turns turbulent.
    """
    for _ in range(60):
        middle = 0.5 * (low + high)
        if function(middle) < 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def movement_of(kind: str) -> float | None:
    """How much a kind of pipe grows for each degree it warms, part of its length [1/degC]; None where unknown."""
    return next((float(row["per_degree"]) for row in read_table("movement.csv") if row["pipe"] == kind), None)


def _meant(word: str, known: list[str]) -> str:
    """A near name if there is one, else all of them."""
    near = get_close_matches(word, known, n=1, cutoff=0.5)
    return f"did you mean '{near[0]}'?" if near else f"there are {', '.join(known)}"
