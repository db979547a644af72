"""Figures to files: PNG and SVG, whole or not at all, the same bytes from the same run."""

from __future__ import annotations

import io
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from holdwater.charts import look

COMPRESSION = 3


def png(figure: Figure) -> bytes:
    """Draw a figure as a PNG picture."""
    held = io.BytesIO()
    with look.style():
        FigureCanvasAgg(figure)
        figure.savefig(
            held, format="png", metadata={"Software": None}, pil_kwargs={"compress_level": COMPRESSION}
        )
    return held.getvalue()


def svg(figure: Figure) -> bytes:
    """Draw a figure as an SVG drawing, without a date and with letters kept as letters."""
    held = io.BytesIO()
    with look.style():
        figure.savefig(held, format="svg", metadata={"Date": None, "Creator": "holdwater"})
    return held.getvalue()


def save(figure: Figure, folder: Path, name: str) -> list[Path]:
    """Write a figure as `name.png` and `name.svg`; old ones stay whole until both are drawn.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        What to write.
    folder : Path
        Made if it is not there.
    name : str
        File name without ending.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    OSError
        The folder cannot be made or written to.
    """
    return write(picture(figure, name), folder)


def picture(figure: Figure, name: str) -> dict[str, bytes]:
    """Draw a figure in both formats, by file name."""
    return {f"{name}.png": png(figure), f"{name}.svg": svg(figure)}


def write(pictures: Mapping[str, bytes], folder: Path) -> list[Path]:
    """Put finished pictures into a folder, under temporary names first.

    Parameters
    ----------
    pictures : mapping of str to bytes
        Contents by file name.
    folder : Path
        Made if it is not there.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    OSError
        The folder cannot be made or written to.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder, prefix=".new-") as beside:
        for name, content in pictures.items():
            Path(beside, name).write_bytes(content)
        for name in pictures:
            os.replace(Path(beside, name), folder / name)
    return [folder / name for name in pictures]
