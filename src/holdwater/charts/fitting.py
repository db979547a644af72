"""Names cut to the room there is for them."""

from __future__ import annotations

from holdwater import words
from holdwater.charts import look
from holdwater.charts.sheet import width


def shortened(name: str, room: float, size: float = look.TICK) -> str:
    """Cut a name in heavy type that is longer than its room.

    Parameters
    ----------
    name : str
        As the owner wrote it.
    room : float
        Width it may take [in].
    size : float
        Type size [points].
    """
    name = words.plain(name)
    while width(name, size, bold=True) > room and len(name) > 1:
        name = name[:-2].rstrip() + "…"
    return name
