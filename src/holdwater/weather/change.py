"""Change factors: the same record with less rain in summer, or two degrees warmer.

They show how much a holding bends, not what the climate will be: the order of wet and dry days stays
as it was.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.scenario.quantities import MONTHS
from holdwater.units import quoted
from holdwater.weather.record import Provenance, Record

if TYPE_CHECKING:
    from holdwater.scenario.schema import Place, Weather

HOW = 'write for example "rain x 0.9 in summer, +2 degC" or "rain -10 % from June to August"'
NORTH = {
    "winter": (12, 1, 2),
    "spring": (3, 4, 5),
    "summer": (6, 7, 8),
    "autumn": (9, 10, 11),
    "fall": (9, 10, 11),
}
LARGEST_FACTOR, LARGEST_SHIFT = 5.0, 15.0
_NUMBER = r"([-+]?\d+(?:\.\d*)?|[-+]?\.\d+)"
_RAIN = re.compile(rf"rain(?:fall)? (?:([x*]) {_NUMBER}|([-+]) ?{_NUMBER} ?%)", re.IGNORECASE)
_WARMTH = re.compile(rf"(?:temperatures? |warmth )?([-+]) ?{_NUMBER} ?(?:deg ?)?([CFK])", re.IGNORECASE)


@dataclass(frozen=True)
class Change:
    """One change factor.

    Attributes
    ----------
    what : str
        "rain" (a factor) or "temperature" (an offset).
    by : float
        Factor [-] or offset [degC].
    months : tuple of int
        Months of the year in which it holds, 1 for January.
    text : str
        As it was written.
    seasonal : bool
        Whether it names a season, which is at another time south of the equator.
    """

    what: str
    by: float
    months: tuple[int, ...]
    text: str
    seasonal: bool = False

    @property
    def said(self) -> str:
        """As it was written, with the months that a season means: "rain x 0.9 in summer (June to August)"."""
        return f"{self.text} ({_spans(self.months)})" if self.seasonal else self.text


def said(changes: Sequence[Change]) -> str:
    """All change factors in words, seasons with their months."""
    return ", ".join(change.said for change in changes)


def _spans(months: Sequence[int]) -> str:
    """Months in words, those that follow each other as one: "June to August", across the new year too."""
    first = [m for m in months if (m - 2) % 12 + 1 not in months]
    if not first:
        return "all year"
    lengths = [next(n for n in range(1, 13) if (m + n - 1) % 12 + 1 not in months) for m in first]
    spans = [
        MONTHS[m - 1] if n == 1 else f"{MONTHS[m - 1]} to {MONTHS[(m + n - 2) % 12]}"
        for m, n in zip(first, lengths, strict=True)
    ]
    return " and ".join(spans)


def read_changes(text: str, south: bool = False) -> list[Change]:
    """Read change factors as a person writes them.

    Parameters
    ----------
    text : str
        Parts divided by commas: "rain x 0.9 in summer, +2 degC", "rain -10 % from June to August",
        "temperature +3.6 degF in winter and spring".
    south : bool
        South of the equator, where summer is December to February.

    Raises
    ------
    InputError
        With every part that cannot be read, and how to write it.
    """
    parts = [part for part in (" ".join(p.split()) for p in re.split(r"[,;]", text)) if part]
    found, faults = [], []
    for part in parts:
        try:
            found.append(_one(part, south))
        except InputError as fault:
            faults += fault.faults
    if not parts:
        faults.append(f"no change given; {HOW}")
    if faults:
        raise InputError(faults)
    return found


def _one(part: str, south: bool) -> Change:
    plain = part.replace("×", "x").replace("−", "-").replace("°", "deg ")
    plain = re.sub(r"(?<=[a-z])\s*([x*])\s*(?=[\d.])", r" \1 ", " ".join(plain.split()))
    body, _, season = re.sub(r" (?:in|from|during) ", " @ ", plain, count=1).partition(" @ ")
    months, seasonal = _months(season.strip(), part, south)
    rain, warmth = _RAIN.fullmatch(body.strip()), _WARMTH.fullmatch(body.strip())
    if rain:
        factor = float(rain[2]) if rain[1] else 1.0 + float(rain[3] + rain[4].lstrip("+-")) / 100.0
        if not 0.0 <= factor <= LARGEST_FACTOR:
            raise InputError(
                f"{quoted(part)}: rain becomes {factor:g} times what it was; use 0 to {LARGEST_FACTOR:g}"
            )
        return Change("rain", factor, months, part, seasonal)
    if warmth:
        shift = float(warmth[1] + warmth[2].lstrip("+-")) / (1.8 if warmth[3] in "fF" else 1.0)
        if abs(shift) > LARGEST_SHIFT:
            raise InputError(
                f"{quoted(part)}: a shift of {shift:.3g} degC is too large; use up to {LARGEST_SHIFT:g} degC"
            )
        return Change("temperature", shift, months, part, seasonal)
    raise InputError(f"{quoted(part)}: not a change of rain or temperature; {HOW}")


def _months(season: str, part: str, south: bool) -> tuple[tuple[int, ...], bool]:
    """Months that are named, all of them where none are; and whether a season is among the names."""
    if not season:
        return tuple(range(1, 13)), False
    found: list[int] = []
    seasonal = False
    for name in re.split(r" and | ?\+ ?", season):
        ends = [_month(word.strip()) for word in re.split(r" ?(?:to|until|-) ?(?=[A-Za-z])", name.strip())]
        if name.strip().lower() in NORTH:
            found += [(m + 5) % 12 + 1 if south else m for m in NORTH[name.strip().lower()]]
            seasonal = True
        elif len(ends) == 1 and ends[0]:
            found.append(ends[0])
        elif len(ends) == 2 and all(ends):
            found += [(ends[0] - 1 + i) % 12 + 1 for i in range((ends[1] - ends[0]) % 12 + 1)]
        else:
            raise InputError(
                f'{quoted(part)}: {quoted(name.strip())} is no season; write "in summer", "in July" or'
                ' "from June to August"'
            )
    return tuple(sorted(set(found))), seasonal


def _month(word: str) -> int:
    """Number of a month by its name or the first three letters of it or more; 0 for no month."""
    hits = [n for n, name in enumerate(MONTHS, 1) if len(word) >= 3 and name.lower().startswith(word.lower())]
    return hits[0] if hits else 0


def changed(record: Record, changes: Sequence[Change]) -> Record:
    """The record with change factors applied, and noted in its provenance.

    Parameters
    ----------
    record : Record
        Stays as it is.
    changes : sequence of Change
        Applied one after the other; where two hold in one month both count.

    Raises
    ------
    InputError
        Temperatures are to change, but the record has none, or it has its own evapotranspiration,
        which would not follow.
    """
    warmer = [change for change in changes if change.what == "temperature"]
    faults = []
    if warmer and not {"t_min", "t_max"} <= set(map(str, record.data.data_vars)):
        faults.append(f"{quoted(warmer[0].text)}: the record has no temperatures to change; leave it out")
    if warmer and "et0" in record.data:
        faults.append(
            f"{quoted(warmer[0].text)}: the record brings its own evapotranspiration, which would not follow the"
            " warmth; leave that column out, so that it is worked out from the temperatures"
        )
    if faults:
        raise InputError(faults)
    months = record.days.astype("datetime64[M]").astype(np.int64) % 12 + 1
    data = record.data.copy()
    for change in changes:
        inside = np.isin(months, change.months)
        for name in ("rain",) if change.what == "rain" else ("t_min", "t_max"):
            data[name] = data[name].copy(data=_applied(data[name].values, change, inside))
    return Record(data, _told(record.provenance, changes))


def as_written(record: Record, weather: Weather, place: Place | None) -> Record:
    """The record with the change factors of a scenario; as it is where it names none.

    Parameters
    ----------
    weather : Weather
        The `[weather]` table of the scenario.
    place : Place or None
        Says on which side of the equator summer is sought; north without it.

    Raises
    ------
    InputError
        The change cannot be read, or the record has nothing to change.
    """
    if weather.change is None:
        return record
    try:
        changes = read_changes(weather.change, south=place is not None and place.latitude < 0.0)
        record = changed(record, changes)
    except InputError as fault:
        raise InputError([f"weather: change: {told}" for told in fault.faults]) from None
    if place is not None or not any(change.seasonal for change in changes):
        return record
    note = (
        "seasons are those north of the equator, because the scenario does not say where it is; add [place]"
    )
    return Record(record.data, replace(record.provenance, notes=(*record.provenance.notes, note)))


def _told(known: Provenance, changes: Sequence[Change]) -> Provenance:
    """Say it wherever the source is named, in the licence line and, with the months of seasons, in the notes."""
    what = ", ".join(change.text for change in changes)
    return replace(
        known,
        source=f"{known.source}, changed on purpose ({what})",
        licence=known.licence_after(what),
        changed=said(changes),
        notes=(*known.notes, f"weather changed on purpose: {said(changes)}"),
    )


def _applied(
    values: npt.NDArray[np.float64], change: Change, inside: npt.NDArray[np.bool_]
) -> npt.NDArray[np.float64]:
    new = values * change.by if change.what == "rain" else values + change.by
    return np.where(inside, new, values)
