"""A region on Dask: the same numbers, a killed worker loses nothing, nothing listens beyond this machine."""

from __future__ import annotations

import os
import pickle
import re
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest
import xarray as xr

distributed: Any = pytest.importorskip("distributed")

from holdwater.errors import InputError  # noqa: E402
from holdwater.studies import region_cluster, region_pieces  # noqa: E402
from holdwater.studies.region import Region, prepare, scores  # noqa: E402
from holdwater.studies.region_cluster import on_dask  # noqa: E402
from holdwater.studies.region_pieces import Piece, Store  # noqa: E402
from holdwater.studies.region_run import Done, Stopped, in_threads, run  # noqa: E402
from tests.region.conftest import Write  # noqa: E402
from tests.region.invented import grid, stations  # noqa: E402

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """Two workers, each a process, on this machine alone."""
    with distributed.LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
        worker_dashboard_address="127.0.0.1:0",
        silence_logs=50,
    ) as made:
        yield made


@pytest.fixture
def region(holding: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Region:
    """Twenty-four cells in twelve pieces."""
    monkeypatch.setattr(region_pieces, "LEAST_PLACES", 2)
    grid(tmp_path / "pr.nc", 4, 6, change={(0, 0): float("nan"), (9, 1, 1): float("nan")})
    made = prepare(holding(), tmp_path / "pr.nc")
    assert len(made.pieces) == 12
    return made


def plainly(region: Region, folder: Path) -> xr.Dataset:
    return run(region, Store(folder / "plain", region.key), in_threads(1)).data


def test_the_same_numbers_as_without_dask(region: Region, cluster: Any, tmp_path: Path) -> None:
    with on_dask(cluster.scheduler_address) as runner:
        found = run(region, Store(tmp_path / "dask", region.key), runner)
    assert found.taken_over == 0
    xr.testing.assert_identical(found.data, plainly(region, tmp_path))


def test_stations_on_dask(plain: Write, cluster: Any, tmp_path: Path) -> None:
    stations(tmp_path / "stations", 3, years=2)
    region = prepare(plain(), tmp_path / "stations")
    with on_dask(cluster.scheduler_address) as runner:
        found = run(region, Store(tmp_path / "dask", region.key), runner)
    xr.testing.assert_identical(found.data, plainly(region, tmp_path))


def test_a_killed_worker_loses_nothing(region: Region, cluster: Any, tmp_path: Path) -> None:
    """One of two workers is killed while both are at work; its pieces are run by the other or its successor."""
    killed: list[int] = []

    def killing(runner: Any) -> Any:
        def kills(region: Region, pieces: Sequence[Piece], stopped: Stopped) -> Done:
            for finished in runner(region, pieces, stopped):
                if not killed:
                    with distributed.Client(cluster) as client:
                        busy = {name: tasks for name, tasks in client.processing().items() if tasks}
                        pids = client.run(os.getpid, workers=list(busy))
                    killed.append(next(iter(pids.values())))
                    os.kill(killed[0], signal.SIGKILL)
                yield finished

        return kills

    with on_dask(cluster.scheduler_address) as runner:
        found = run(region, Store(tmp_path / "dask", region.key), killing(runner))
    assert len(killed) == 1
    with pytest.raises(ProcessLookupError):
        os.kill(killed[0], 0)
    assert len(list((tmp_path / "dask" / region_pieces.FOLDER).glob("piece-*.nc"))) == 12
    xr.testing.assert_identical(found.data, plainly(region, tmp_path))


def test_a_run_on_dask_goes_on_where_a_run_without_it_stopped(
    region: Region, cluster: Any, tmp_path: Path
) -> None:
    def stopping(region: Region, pieces: Sequence[Piece], stopped: Stopped) -> Done:
        for done, finished in enumerate(in_threads(1)(region, pieces, stopped)):
            if done == 5:
                raise KeyboardInterrupt
            yield finished

    with pytest.raises(KeyboardInterrupt):
        run(region, Store(tmp_path / "dask", region.key), stopping)
    with on_dask(cluster.scheduler_address) as runner:
        found = run(region, Store(tmp_path / "dask", region.key), runner)
    assert found.taken_over == 10
    xr.testing.assert_identical(found.data, plainly(region, tmp_path))


def test_a_grid_chunked_over_space_stays_lazy(region: Region, cluster: Any, tmp_path: Path) -> None:
    """The study is a function of an xarray Dataset, for those who work in Dask themselves."""
    chunked = region.weather.data.chunk({"lat": 2, "lon": 3})
    lazy = scores(chunked, region.terms)
    assert lazy.chunks["lat"] == (2, 2)
    with distributed.Client(cluster):
        found = lazy.compute()
    expected = plainly(region, tmp_path).drop_vars(["lat", "lon"])
    xr.testing.assert_identical(found, expected.drop_attrs(deep=False))


def test_a_task_carries_no_weather(region: Region) -> None:
    """Only where the file lies and which part of it; the worker reads it."""
    part = region.weather.data.isel(region.pieces[0].where)
    sent = pickle.dumps((part, region.terms))
    assert len(sent) < part["time"].nbytes + 10_000 < part["pr"].nbytes + 10_000
    assert pickle.loads(sent)[0]["pr"].identical(part["pr"])


def _loads() -> int:
    """Modules of compiled code this process has loaded."""
    from holdwater.studies import compiled

    return compiled.load.cache_info().misses


def _compile_at_once(plain: float) -> float:
    """Make plain Python look as dear as this, so that the first place is compiled for; what it was before."""
    from holdwater.studies import kernels

    before, kernels.PLAIN = kernels.PLAIN, plain
    return before


def test_every_worker_loads_compiled_code_once(plain: Write, cluster: Any, tmp_path: Path) -> None:
    """However many pieces it runs."""
    grid(tmp_path / "pr.nc", 6, 6, years=1, temperatures=False)
    region = prepare(plain(), tmp_path / "pr.nc")
    assert len(region.pieces) > 2
    with distributed.Client(cluster) as client:
        before = client.run(_loads)
        usual = next(iter(client.run(_compile_at_once, 1.0).values()))
        try:
            with on_dask(cluster.scheduler_address) as runner:
                found = run(region, Store(tmp_path / "dask", region.key), runner)
        finally:
            client.run(_compile_at_once, usual)
        loaded = {name: count - before[name] for name, count in client.run(_loads).items()}
    assert set(loaded.values()) <= {0, 1}
    assert any(loaded.values())
    xr.testing.assert_identical(found.data, plainly(region, tmp_path))


def test_local_workers_cannot_be_reached_from_outside(region: Region) -> None:
    with on_dask("local", 1) as runner:
        client = next(c.cell_contents for c in runner.__closure__ if hasattr(c.cell_contents, "nthreads"))  # type: ignore[attr-defined]
        addresses = [client.scheduler.address, *client.nthreads()]
        listening = client.run_on_scheduler(_listening) | set().union(*client.run(_listening).values())
    assert all(address.startswith("tcp://127.0.0.1:") for address in addresses)
    assert listening == {"127.0.0.1"}


def _listening() -> set[str]:
    """Addresses on which this process takes connections."""
    import psutil

    found = psutil.Process().net_connections(kind="tcp")
    return {c.laddr.ip for c in found if c.status == psutil.CONN_LISTEN}


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent as a signal")
@pytest.mark.parametrize("on", ["threads", "dask"])
def test_ctrl_c_is_heard_between_pieces(region: Region, cluster: Any, tmp_path: Path, on: str) -> None:
    """Whatever the program is at when it comes; and what is finished by then is kept."""
    told: list[int] = []
    before = signal.getsignal(signal.SIGINT)

    def pressed(done: int) -> None:
        told.append(done)
        if len(told) == 3:
            signal.raise_signal(signal.SIGINT)

    runners = on_dask(cluster.scheduler_address) if on == "dask" else nullcontext(in_threads(1))
    with pytest.raises(KeyboardInterrupt), runners as runner:
        run(region, Store(tmp_path / "out", region.key), runner, pressed)
    assert told[:3] == [0, 2, 2]
    assert len(told) < 12
    assert signal.getsignal(signal.SIGINT) is before
    assert len(list((tmp_path / "out" / region_pieces.FOLDER).glob("piece-*.nc"))) == len(told) - 1


def test_no_scheduler_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(region_cluster, "WAIT", 1)
    with (
        pytest.raises(InputError, match=r"no Dask scheduler answers at tcp://127\.0\.0\.1:9"),
        on_dask("tcp://127.0.0.1:9"),
    ):
        pass
    with (
        pytest.raises(InputError, match="write local, or an address such as tcp://"),
        on_dask("nonsense"),
    ):
        pass
    with (
        pytest.raises(InputError, match="--workers has no effect on a cluster"),
        on_dask("tcp://127.0.0.1:9", 2),
    ):
        pass


def test_a_scheduler_without_workers(region: Region, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(region_cluster, "WAIT", 1)
    with (
        distributed.LocalCluster(n_workers=0, host="127.0.0.1", dashboard_address="127.0.0.1:0") as empty,
        on_dask(empty.scheduler_address) as runner,
        pytest.raises(InputError, match="has had no worker for 1 s"),
    ):
        run(region, Store(tmp_path, region.key), runner)


def test_a_scheduler_that_goes_away(region: Region, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is finished stays, and the next run goes on."""

    def losing(runner: Any, cluster: Any) -> Any:
        def loses(region: Region, pieces: Sequence[Piece], stopped: Stopped) -> Done:
            for finished in runner(region, pieces, stopped):
                yield finished
                cluster.close()

        return loses

    monkeypatch.setattr(region_cluster, "WAIT", 2)
    with (
        distributed.LocalCluster(
            n_workers=1,
            threads_per_worker=1,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",
            silence_logs=50,
        ) as short,
        on_dask(short.scheduler_address) as runner,
        pytest.raises(InputError, match="scheduler is gone; what is finished is kept"),
    ):
        run(region, Store(tmp_path / "out", region.key), losing(runner, short))
    found = run(region, Store(tmp_path / "out", region.key), in_threads(1))
    assert 2 <= found.taken_over < 24
    xr.testing.assert_identical(found.data, plainly(region, tmp_path))


def test_a_damaged_grid(plain: Write, cluster: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file opens, but part of its rain cannot be unpacked."""
    monkeypatch.setattr(region_pieces, "LEAST_PLACES", 4)
    path = tmp_path / "torn.nc"
    whole = grid(tmp_path / "pr.nc", 4, 4, years=2, temperatures=False)
    whole.to_netcdf(path, engine="h5netcdf", encoding={"pr": {"zlib": True, "chunksizes": (730, 2, 2)}})
    raw = bytearray(path.read_bytes())
    middle = len(raw) // 2
    raw[middle : middle + 400] = bytes(400)
    path.write_bytes(bytes(raw))
    region = prepare(plain(), path)
    with pytest.raises(
        InputError, match=r"'torn\.nc' cannot be read to its end: .* what is finished is kept"
    ):
        run(region, Store(tmp_path / "threads", region.key), in_threads(2))
    with (
        on_dask(cluster.scheduler_address) as runner,
        pytest.raises(InputError, match=r"'torn\.nc' cannot be read to its end"),
    ):
        run(region, Store(tmp_path / "dask", region.key), runner)


def test_a_worker_that_does_not_see_the_weather_or_has_another_version(
    region: Region, cluster: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with on_dask(cluster.scheduler_address) as runner:
        monkeypatch.setattr("holdwater.__version__", "99.0")
        with pytest.raises(InputError, match=r"has holdwater .*, this machine 99.0; install the same"):
            run(region, Store(tmp_path, region.key), runner)
        monkeypatch.undo()
        (tmp_path / "pr.nc").rename(tmp_path / "away.nc")
        with pytest.raises(InputError, match=r"does not see .*pr\.nc; put the weather where"):
            run(region, Store(tmp_path, region.key), runner)


WITHOUT = """
import sys
sys.modules["dask"] = sys.modules["distributed"] = None
from holdwater.cli import main
sys.argv = ["holdwater", *sys.argv[1:]]
main()
"""


def test_without_dask(holding: Write, tmp_path: Path) -> None:
    """A machine without Dask runs the region all the same, and says what --scheduler needs."""
    grid(tmp_path / "pr.nc", 2, 2, years=2)
    file = holding()

    def command(*more: str) -> subprocess.CompletedProcess[str]:
        given = ["region", str(tmp_path / "pr.nc"), str(file.path), "--out", str(tmp_path / "out"), *more]
        return subprocess.run(
            [sys.executable, "-c", WITHOUT, *given], capture_output=True, text=True, timeout=120, cwd=ROOT
        )

    refused = command("--scheduler", "local")
    assert refused.returncode == 2
    assert re.search(r"--scheduler needs Dask: pip install 'holdwater\[cluster\]'", refused.stderr)
    done = command()
    assert done.returncode == 0, done.stderr
    region = prepare(file, tmp_path / "pr.nc")
    with xr.open_dataset(tmp_path / "out" / "region.nc", engine="h5netcdf") as found:
        ours = plainly(region, tmp_path)
        xr.testing.assert_equal(found.load().drop_vars("fault"), ours.drop_vars("fault"))
