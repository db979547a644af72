"""The store: whole files or none, and no trust in what lies there."""

from __future__ import annotations

import datetime as dt
import json
import os
import time
from pathlib import Path

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.weather.stations.store import (
    Damaged,
    Kind,
    StationYear,
    Store,
    absent,
    days_in,
    default_folder,
)

NOW = dt.datetime(2026, 3, 1, 12, 30, 5, tzinfo=dt.UTC)


def made(year: int = 2012) -> StationYear:
    """An invented station year with holes."""
    n = days_in(year)
    rain = np.arange(n) / 7.0
    rain[3] = np.nan
    return StationYear(
        station="X0001",
        year=year,
        there=True,
        fetched=NOW,
        rain=rain,
        rain_source=tuple("ghcnd" if i % 2 else "dwd_mosmix" for i in range(n)),
        t_min=np.full(n, -1.25),
        t_max=np.full(n, np.nan),
        t_source=("ghcnd",) * n,
        kinds={"ghcnd": Kind.OBSERVED, "dwd_mosmix": Kind.MODEL},
        providers={"ghcnd": "NOAA GHCN-Daily"},
    )


def test_what_is_written_is_read_back_equal(store: Store) -> None:
    store.write(made())
    back = store.read("X0001", 2012)
    assert back is not None
    for name in ("rain", "t_min", "t_max"):
        np.testing.assert_array_equal(getattr(back, name), getattr(made(), name))
    for name in ("station", "year", "there", "fetched", "rain_source", "t_source", "kinds", "providers"):
        assert getattr(back, name) == getattr(made(), name)
    assert back.age_days(NOW + dt.timedelta(days=12, hours=3)) == 12
    assert store.years("X0001") == [2012]
    assert store.read("X0001", 2011) is None
    assert store.years("X0002") == []


def test_an_absent_year_is_marked_as_such(store: Store) -> None:
    store.write(absent("X0001", 2011, NOW))
    back = store.read("X0001", 2011)
    assert back is not None
    assert not back.there
    assert back.known == 0


BROKEN = {
    "cut": lambda text: text[: len(text) // 2],
    "empty": lambda text: b"",
    "not text": lambda text: b"\xff\xfe\x00",
    "no table": lambda text: b"[1, 2]",
    "another year": lambda text: text.replace(b'"year": 2012', b'"year": 2016'),
    "too short": lambda text: text.replace(b'"rain_mm": [0.0, ', b'"rain_mm": ['),
    "a word": lambda text: text.replace(b'"rain_mm": [0.0', b'"rain_mm": ["wet"'),
    "no number": lambda text: text.replace(b'"rain_mm": [0.0', b'"rain_mm": [Infinity'),
    "unknown kind": lambda text: text.replace(b'"observed"', b'"guessed"'),
    "another format": lambda text: text.replace(
        b'"holdwater_station_year": 1', b'"holdwater_station_year": 2'
    ),
    "no time zone": lambda text: text.replace(b"+00:00", b""),
}


@pytest.mark.parametrize("how", BROKEN)
def test_a_damaged_file_is_never_half_used(how: str, store: Store) -> None:
    store.write(made())
    path = store.path("X0001", 2012)
    broken = BROKEN[how](path.read_bytes())  # type: ignore[no-untyped-call]
    assert broken != path.read_bytes()
    path.write_bytes(broken)
    with pytest.raises(Damaged):
        store.read("X0001", 2012)


def test_a_writer_that_fails_leaves_the_old_file_and_nothing_else(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.write(made())
    path = store.path("X0001", 2012)
    before = path.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(
        InputError, match=r"cannot write into the weather store .*No space left.*HOLDWATER_STORE"
    ):
        store.write(made())
    assert path.read_bytes() == before
    assert [p.name for p in path.parent.iterdir()] == ["2012.json"]


def test_what_a_killed_writer_left_is_not_read_and_is_swept_away(store: Store) -> None:
    store.write(made())
    old, young = (
        store.path("X0001", 2012).parent / ".new-old",
        store.path("X0001", 2012).parent / ".new-young",
    )
    for left in (old, young):
        left.write_text("{")
    os.utime(old, (time.time() - 7200,) * 2)
    store.write(made(2013))
    assert store.years("X0001") == [2012, 2013]
    assert not old.exists()
    assert young.exists()  # it may belong to another process that is writing


def test_a_store_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="cannot write into the weather store"):
        Store(tmp_path / "file" / "store").write(made())


def test_the_store_lies_where_the_environment_says_else_in_the_data_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("HOLDWATER_STORE", str(tmp_path / "mine"))
    assert default_folder() == tmp_path / "mine"
    monkeypatch.delenv("HOLDWATER_STORE")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert default_folder().name == "stations"
    assert "holdwater" in default_folder().parts


def test_the_file_can_be_read_by_anyone(store: Store) -> None:
    store.write(made())
    told = json.loads(store.path("X0001", 2012).read_text("utf-8"))
    assert told["rain_mm"][:4] == [0.0, 1 / 7, 2 / 7, None]
    assert told["fetched"] == "2026-03-01T12:30:05+00:00"
    assert told["kinds"]["dwd_mosmix"] == "model"
