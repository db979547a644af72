"""What animals drink at an air temperature, from the published table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.scenario import tables
from holdwater.scenario.tables.growing import named

Floats: TypeAlias = npt.NDArray[np.float64]


def litres_per_head(animal: tables.Animal, temperature: npt.ArrayLike) -> Floats:
    """Water one head drinks on days of given air temperatures.

    Straight lines between the published temperatures, constant beyond the first and the last; an animal
    published without a temperature drinks the same at all. The middle of a published range is used.

    Parameters
    ----------
    animal : tables.Animal
        A kind of the table.
    temperature : array_like
        Mean air temperature of the day [degC].

    Returns
    -------
    ndarray
        NaN where the temperature is NaN, unless the table has none for this animal [L/head/day].
    """
    t = np.asarray(temperature, dtype=np.float64)
    known = [(row.temperature, row.used) for row in animal.rows if row.temperature is not None]
    if not known:
        return np.full(t.shape, animal.rows[0].used)
    at, used = zip(*sorted(known), strict=True)
    return np.asarray(np.interp(t, at, used), dtype=np.float64)


def herd_litres(where: str, herd: Mapping[str, float], temperature: npt.ArrayLike) -> Floats:
    """Water a herd drinks on days of given air temperatures.

    Parameters
    ----------
    where : str
        Name for messages, such as "draw 'goats'".
    herd : mapping of str to float
        Head by kind of animal.
    temperature : array_like
        Mean air temperature of the day [degC].

    Returns
    -------
    ndarray
        [L/day]

    Raises
    ------
    InputError
        A kind the table does not have, with a did-you-mean.
    """
    table = tables.animals()
    faults = [fault for kind in herd if (fault := named("animal", kind, table))]
    if faults:
        raise InputError(f"{where}: {fault}" for fault in faults)
    t = np.asarray(temperature, dtype=np.float64)
    total = np.zeros(t.shape)
    for kind, head in herd.items():
        total += head * litres_per_head(table[kind], t)
    return total
