from __future__ import annotations

import io
import os
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.image import imread

from holdwater import charts
from holdwater.charts import files
from tests.charts.runs import Result, title

EVERY_CHART = pytest.mark.parametrize("name", list(charts.CHARTS))
SVG = "{http://www.w3.org/2000/svg}"


@EVERY_CHART
def test_the_same_run_gives_the_same_bytes(name: str, thirty_years: Result) -> None:
    def pictures() -> dict[str, bytes]:
        return files.picture(charts.CHARTS[name](*thirty_years, "us"), name)

    first, again = pictures(), pictures()
    assert list(first) == [f"{name}.png", f"{name}.svg"]
    assert first == again


@EVERY_CHART
def test_drawings_of_thirty_years_stay_small_and_keep_their_letters(name: str, thirty_years: Result) -> None:
    figure = charts.CHARTS[name](*thirty_years, "us")
    drawing = files.svg(figure)
    assert len(drawing) < 600_000
    root = ElementTree.fromstring(drawing)
    words = " ".join("".join(t.itertext()) for t in root.iter(f"{SVG}text"))
    assert title(figure) in words
    assert b"<dc:date>" not in drawing


@EVERY_CHART
def test_pictures_are_large_enough_to_print(name: str, one_year: Result) -> None:
    picture = imread(io.BytesIO(files.png(charts.CHARTS[name](*one_year, "us"))))
    assert picture.shape[1] == 1500
    assert picture.shape[0] > 400
    assert np.unique(picture[..., :3].reshape(-1, 3), axis=0).shape[0] > 10


def test_save_all_writes_every_chart_twice_and_tells_of_each(tmp_path: Path, one_year: Result) -> None:
    told: list[str] = []
    written = charts.save_all(*one_year, "metric", tmp_path / "new" / "charts", told.append)
    assert sorted(told) == sorted(charts.CHARTS)  # two cores draw: the order is not certain
    expected = {f"{name}.{end}" for name in charts.CHARTS for end in ("png", "svg")}
    assert {p.name for p in written} == expected
    assert {p.name for p in (tmp_path / "new" / "charts").iterdir()} == expected
    assert (tmp_path / "new" / "charts" / "storage.png").read_bytes().startswith(b"\x89PNG")


def test_a_run_that_stops_halfway_leaves_the_old_pictures_whole(
    tmp_path: Path, one_year: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    charts.save_all(*one_year, "us", tmp_path)
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}

    def fails(*_: object) -> None:
        raise RuntimeError("the lamp went out")

    monkeypatch.setitem(charts.CHARTS, "drought", fails)
    with pytest.raises(RuntimeError, match="lamp"):
        charts.save_all(*one_year, "metric", tmp_path)
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before


def test_a_disk_that_fills_up_leaves_the_old_pictures_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files.write({"a.png": b"old", "a.svg": b"old"}, tmp_path)

    def full(self: Path, data: bytes) -> int:
        if self.suffix == ".svg":
            raise OSError(28, "No space left on device")
        with self.open("wb") as file:
            return file.write(data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OSError, match="No space left"):
        files.write({"a.png": b"new", "a.svg": b"new"}, tmp_path)
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {"a.png": b"old", "a.svg": b"old"}


def test_a_folder_that_is_a_file_is_refused(tmp_path: Path, one_year: Result) -> None:
    (tmp_path / "charts").write_text("not a folder")
    with pytest.raises(OSError, match="charts"):
        charts.save(charts.supply_chart(*one_year, "us"), tmp_path / "charts", "supply")
    assert os.listdir(tmp_path) == ["charts"]
