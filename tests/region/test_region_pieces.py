"""How a region is cut, and that finished pieces are whole, found again, and never of another run."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

from holdwater.errors import InputError
from holdwater.studies import region_pieces
from holdwater.studies.region import Region, prepare
from holdwater.studies.region_pieces import FOLDER, MOST_BYTES, MOST_PLACES, Piece, Store, cut
from holdwater.studies.region_run import Done, Runner, Stopped, in_threads, run
from tests.region.conftest import Write
from tests.region.invented import grid

sizes = st.integers(1, 90)


@given(
    ny=sizes, nx=sizes, chunk_y=sizes, chunk_x=sizes, weight=st.sampled_from([0, 4000, 200_000, 50_000_000])
)
def test_every_place_is_in_one_piece(ny: int, nx: int, chunk_y: int, chunk_x: int, weight: int) -> None:
    covered = np.zeros((ny, nx), dtype=int)
    pieces = cut({"lat": ny, "lon": nx}, {"lat": chunk_y, "lon": chunk_x}, weight)
    for piece in pieces:
        covered[piece.where["lat"], piece.where["lon"]] += 1
        assert piece.size <= MOST_PLACES
        assert piece.size * weight <= MOST_BYTES or piece.size == 1
    assert (covered == 1).all()
    assert [piece.number for piece in pieces] == list(range(len(pieces)))


def test_pieces_are_many_enough_and_follow_small_chunks() -> None:
    pieces = cut({"lat": 100, "lon": 100}, {"lat": 10, "lon": 10}, 100_000)
    assert 20 <= len(pieces) <= 60
    assert all(span.start % 10 == 0 for piece in pieces for span in piece.where.values())
    assert len(cut({"station": 200}, {}, 0)) in range(12, 33)
    assert len(cut({"station": 3}, {}, 0)) == 1


def test_a_chunk_over_the_whole_map_makes_few_pieces() -> None:
    """Every piece reads the file once more, so there are fewer of them, but enough for some workers."""
    whole = {"lat": 60, "lon": 60}
    assert 8 <= len(cut(whole, whole, 20_000)) <= 16
    assert len(cut(whole, {}, 20_000)) > 24


def test_days_in_one_chunk_are_no_chunk_of_space(tmp_path: Path) -> None:
    grid(tmp_path / "pr.nc", 6, 8)
    with xr.open_dataset(tmp_path / "pr.nc", engine="h5netcdf", decode_times=False) as data:
        n = data.sizes["time"]
        data.load().to_netcdf(
            tmp_path / "tiles.nc", engine="h5netcdf", encoding={"pr": {"chunksizes": (n, 3, 2)}}
        )
    with xr.open_dataset(tmp_path / "tiles.nc", engine="h5netcdf", decode_times=False) as data:
        assert region_pieces.stored_chunks(data["pr"], ("lat", "lon")) == {"lat": 3, "lon": 2}


@pytest.fixture
def region(plain: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Region:
    """Six cells in three pieces."""
    monkeypatch.setattr(region_pieces, "LEAST_PLACES", 2)
    grid(tmp_path / "pr.nc", 3, 2, years=2, temperatures=False)
    made = prepare(plain(), tmp_path / "pr.nc")
    assert len(made.pieces) == 3
    return made


def stopping_after(count: int) -> Runner:
    """A runner that is stopped by Ctrl-C after some pieces."""

    def runner(region: Region, pieces: Sequence[Piece], stopped: Stopped) -> Done:
        for done, finished in enumerate(in_threads(1)(region, pieces, stopped)):
            if done == count:
                raise KeyboardInterrupt
            yield finished

    return runner


def test_a_stopped_run_goes_on_where_it_was(region: Region, tmp_path: Path) -> None:
    told: list[int] = []
    with pytest.raises(KeyboardInterrupt):
        run(region, Store(tmp_path, region.key), stopping_after(2), told.append)
    assert told == [0, 2, 2]
    names = sorted(os.listdir(tmp_path / FOLDER))
    assert len(names) == 3  # two pieces and the key, nothing half written
    ran: list[int] = []

    def counting(region: Region, pieces: Sequence[Piece], stopped: Stopped) -> Done:
        ran.extend(piece.number for piece in pieces)
        yield from in_threads(1)(region, pieces, stopped)

    result = run(region, Store(tmp_path, region.key), counting, told.append)
    assert len(ran) == 1
    assert result.taken_over == 4
    assert told[3:] == [4, 2]
    fresh = run(region, Store(tmp_path / "fresh", region.key), in_threads(1))
    xr.testing.assert_identical(result.data, fresh.data)


def test_a_damaged_piece_is_run_again(region: Region, tmp_path: Path) -> None:
    store = Store(tmp_path, region.key)
    whole = run(region, store, in_threads(1)).data
    for number, damage in ((0, b""), (1, b"CDF\x01 and then nothing")):
        (tmp_path / FOLDER / f"piece-{number:05d}.nc").write_bytes(damage)
    again = run(region, Store(tmp_path, region.key), in_threads(1))
    assert again.taken_over == 2
    xr.testing.assert_identical(again.data, whole)


def test_pieces_of_another_scenario_or_weather_are_not_taken(
    region: Region, plain: Write, tmp_path: Path
) -> None:
    run(region, Store(tmp_path, region.key), in_threads(1))
    renamed = prepare(plain("title=Another name", "show_units=us"), tmp_path / "pr.nc")
    assert renamed.key == region.key  # neither changes a number
    other = prepare(plain("draw.house.per_day=121 L/day"), tmp_path / "pr.nc")
    store = Store(tmp_path, other.key)
    assert store.discarded == 3
    assert run(other, store, in_threads(1)).taken_over == 0
    os.utime(tmp_path / "pr.nc", (1, 1))
    assert prepare(plain("draw.house.per_day=121 L/day"), tmp_path / "pr.nc").key != other.key


def test_a_fault_while_writing_leaves_the_old_piece(
    region: Region, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = Store(tmp_path, region.key)
    run(region, store, in_threads(1))
    path = tmp_path / FOLDER / "piece-00000.nc"
    before = path.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(InputError, match="cannot write into the output folder: No space left on device"):
        store.keep(region.pieces[0], store.take(region.pieces[1]) or xr.Dataset())
    assert path.read_bytes() == before
    assert not list((tmp_path / FOLDER).glob(".new-*"))


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    with pytest.raises(InputError, match="choose another with --out"):
        Store(tmp_path / "out", "key")


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_threads_make_no_difference(region: Region, tmp_path: Path, workers: int) -> None:
    one = run(region, Store(tmp_path / "one", region.key), in_threads(1)).data
    many = run(region, Store(tmp_path / "many", region.key), in_threads(workers)).data
    xr.testing.assert_identical(one, many)
