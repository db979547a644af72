"""The demo's weather is invented, says so, comes back byte for byte, and behaves like weather.

What is compared here are the properties the demo promises (wet winters, dry summers, two droughts,
rain that comes in runs; a holding that copes in most years), not numbers copied from a run.
"""

from __future__ import annotations

import datetime as dt
import importlib.util
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import numpy.typing as npt
import pytest

from holdwater.ledger import Ledger
from holdwater.scenario import load
from holdwater.scores import Scores, score
from holdwater.simulation import simulate
from holdwater.weather import read_weather

SCENARIOS = Path(__file__).parents[1] / "scenarios"
FILE = SCENARIOS / "larkfield-weather.csv"

DROUGHT_YEARS = {2002, 2025}  # water years, October to September


def script(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, SCENARIOS / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    return script("make_larkfield_weather")


class Record:
    """The file read with nothing but `split`, so that no reader of ours stands between."""

    def __init__(self, text: str) -> None:
        lines = text.splitlines()
        self.comments = [line for line in lines if line.startswith("#")]
        header, *rows = [line.split(",") for line in lines if not line.startswith("#")]
        self.header = header
        self.days = [dt.date.fromisoformat(row[0]) for row in rows]
        self.month = np.array([day.month for day in self.days])
        self.year = np.array([day.year for day in self.days])
        self.water_year = self.year + (self.month >= 10)
        self.rain, self.t_min, self.t_max = (np.array([float(row[i]) for row in rows]) for i in (1, 2, 3))
        self.wet = self.rain > 0

    def total(self, chosen: npt.NDArray[np.bool_]) -> float:
        return float(self.rain[chosen].sum())


@pytest.fixture(scope="module")
def record() -> Record:
    return Record(FILE.read_text(encoding="ascii"))


def test_the_script_writes_the_file_again_byte_for_byte(maker: ModuleType) -> None:
    assert maker.make_weather().encode("ascii") == FILE.read_bytes()


def test_run_by_hand_it_writes_beside_itself(tmp_path: Path) -> None:
    copy = tmp_path / "make_larkfield_weather.py"
    copy.write_bytes((SCENARIOS / copy.name).read_bytes())
    done = subprocess.run(
        [sys.executable, str(copy)], capture_output=True, text=True, cwd=tmp_path, check=True
    )
    assert "invented" in done.stdout
    assert (tmp_path / FILE.name).read_bytes() == FILE.read_bytes()


def test_the_seed_decides(maker: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(maker, "SEED", maker.SEED + 1)
    other = Record(maker.make_weather())
    same = np.mean(other.wet == Record(FILE.read_text(encoding="ascii")).wet)
    assert same < 0.9


def test_the_raw_integers_are_those_numpy_publishes_for_pcg64(maker: ModuleType) -> None:
    """PCG64's stream for a seed is fixed by numpy's compatibility policy (NEP 19).

    Witness: numpy's own `Generator.random`, which is documented as the upper 53 bits times 2**-53;
    ours keeps 52 bits and stands in the middle of its cell, so the two differ by less than 2**-52.
    """
    ours = np.array(maker.uniforms(1, 50, 4)).ravel()
    numpys = np.random.Generator(np.random.PCG64(1)).random(200)
    assert np.abs(ours - numpys).max() < 2.0**-52
    assert ours.min() > 0
    assert ours.max() < 1


def test_the_file_says_that_it_is_invented_and_by_what(maker: ModuleType, record: Record) -> None:
    said = " ".join(record.comments)
    assert record.comments[0].startswith("# INVENTED")
    assert "make_larkfield_weather.py" in said
    assert f"seed {maker.SEED}" in said
    assert record.header == ["date", "rain_in", "t_min_f", "t_max_f"]


def test_every_day_of_thirty_years_is_there_once(record: Record) -> None:
    first, last = dt.date(1996, 1, 1), dt.date(2025, 12, 31)
    assert record.days == [first + dt.timedelta(n) for n in range((last - first).days + 1)]


def test_winters_are_wet_and_summers_dry(record: Record) -> None:
    yearly = record.rain.sum() / 30
    winter = record.total(np.isin(record.month, (11, 12, 1, 2, 3))) / 30
    summer = record.total(np.isin(record.month, (6, 7, 8))) / 30
    assert 16 < yearly < 20
    assert winter > 0.55 * yearly
    assert summer < 0.15 * yearly


def test_days_are_plausible(record: Record) -> None:
    assert record.rain.min() == 0
    assert record.rain[record.wet].min() >= 0.01
    assert 1.5 < record.rain.max() < 3
    assert 60 < record.wet.sum() / 30 < 100
    assert np.all(record.t_min < record.t_max)
    assert record.t_min.min() > -20
    assert record.t_max.max() < 112


def test_rain_comes_in_runs(record: Record) -> None:
    """After a wet day rain is likelier than after a dry one, in every month (two-state chain)."""
    for month in range(1, 13):
        here = record.month[1:] == month
        after_wet = record.wet[1:][here & record.wet[:-1]].mean()
        after_dry = record.wet[1:][here & ~record.wet[:-1]].mean()
        assert after_wet > after_dry + 0.1, month


def test_wet_days_are_cooler_with_a_smaller_range(record: Record) -> None:
    for months in ((12, 1, 2), (3, 4, 5), (6, 7, 8), (9, 10, 11)):
        here = np.isin(record.month, months)
        high = [record.t_max[here & side].mean() for side in (record.wet, ~record.wet)]
        span = [(record.t_max - record.t_min)[here & side].mean() for side in (record.wet, ~record.wet)]
        assert high[0] < high[1] - 2
        assert span[0] < span[1] - 3


def test_some_frost_and_a_little_snow_in_winter_none_in_high_summer(record: Record) -> None:
    frost = record.t_min <= 32
    mean = (record.t_min + record.t_max) / 2
    snow = record.total(mean <= 34) / 30  # about 1 degC, where half of it is snow
    assert 30 < frost.sum() / 30 < 110
    assert not frost[np.isin(record.month, (7, 8))].any()
    assert 0.2 < snow < 3


def test_the_two_droughts_are_the_two_driest_water_years(record: Record) -> None:
    totals = {int(y): record.total(record.water_year == y) for y in range(1997, 2026)}
    ranked = sorted(totals, key=lambda y: totals[y])
    usual = float(np.median(list(totals.values())))
    assert set(ranked[:2]) == DROUGHT_YEARS
    assert all(totals[y] < 0.65 * usual for y in DROUGHT_YEARS)
    assert totals[ranked[2]] > 0.65 * usual


def test_years_differ_and_half_remember_the_one_before(maker: ModuleType) -> None:
    factors = maker.year_factors(range(1, 4001))
    logs = np.log([factors[y] for y in sorted(factors)])
    assert np.mean(np.exp(logs)) == pytest.approx(1, abs=0.02)
    assert np.std(logs) == pytest.approx(maker.YEAR_SPREAD, rel=0.06)
    assert np.corrcoef(logs[1:], logs[:-1])[0, 1] == pytest.approx(maker.YEAR_MEMORY, abs=0.06)


def test_a_long_run_of_usual_years_returns_the_monthly_table(maker: ModuleType) -> None:
    """Mean rain of January and July over many usual days against the table the script starts from."""
    for month in (1, 7):
        wet, total, days = False, 0.0, 60_000
        for u in maker.uniforms(month, days, 3):
            rain = maker.rain_of_day(month, 1.0, wet, u)
            wet, total = rain > 0, total + rain
        assert total / days * 31 == pytest.approx(maker.RAIN[month - 1], rel=0.05)


def run(path: Path, variant: str | None = None) -> tuple[Ledger, Scores]:
    scenario = load(path, variant=variant).scenario
    ledger = simulate(scenario, read_weather(scenario.weather, path.parent))
    return ledger, score(ledger)


@pytest.fixture(scope="module")
def demo() -> tuple[Ledger, Scores]:
    return run(SCENARIOS / "larkfield.toml")


def test_the_demo_reads_without_a_warning_and_closes(demo: tuple[Ledger, Scores]) -> None:
    assert load(SCENARIOS / "larkfield.toml").warnings == []
    assert demo[1].balance_error < 1e-9


def test_the_demo_copes_in_most_years_and_fails_in_the_droughts(demo: tuple[Ledger, Scores]) -> None:
    by_year = demo[1].dry_days.by_year
    ranked = sorted(by_year, key=lambda year: -by_year[year])
    assert set(ranked[:2]) == {2002, 2025}
    assert sum(days > 0 for days in by_year.values()) < 15
    assert by_year[ranked[1]] > by_year[ranked[2]]
    assert 2 < demo[1].dry_days.total / 30 < 8
    assert 9 <= demo[1].loads <= 36  # a few times in ten years


BEDS = ("tomatoes", "beans")


def test_the_demo_s_animals_drink_and_its_garden_gives_way(demo: tuple[Ledger, Scores]) -> None:
    dry, held = demo[1].dry_days.by_draw, demo[1].held_back.by_draw
    assert dry["goats and hens"] == 0
    assert dry["house"] > 0
    assert (held["house"], held["goats and hens"]) == (0, 0)
    for bed in BEDS:
        assert dry[bed] == 0, "what its rule holds back is not short"
        assert held[bed] > 0


def test_the_demo_s_beds_are_watered_as_a_gardener_would(demo: tuple[Ledger, Scores]) -> None:
    """Planted in mid May into a dry summer: watering begins within two weeks or so and ends with the season,
    every week or less often, with 15 to 40 mm at a time."""
    ledger, scores = demo
    lengths = {"tomatoes": 145, "beans": 90}
    for bed in scores.beds:
        assert bed.growing_days == 30 * lengths[bed.name]
        assert len(bed.watering_began) == 30
        assert all((5, 12) <= (day.month, day.day) <= (6, 5) for day in bed.watering_began)
        data = ledger.data.sel(bed=bed.name)
        watered = data["watered"].values
        assert (data["growing"].values[watered > 0] == 1).all()
        given = watered[watered > 0]
        assert 15 < np.median(given) < 40
        for year in (1999, 2004, 2016):  # usual years
            times = int((watered[ledger.days.astype("datetime64[Y]") == np.datetime64(str(year))] > 0).sum())
            assert 8 <= times <= 20


def test_the_demo_s_garden_thrives_in_usual_years_and_withers_in_the_droughts(
    demo: tuple[Ledger, Scores],
) -> None:
    for bed in demo[1].beds:
        stress = {year.year: year.stress_days for year in bed.years}
        ranked = sorted(stress, key=lambda year: -stress[year])
        assert set(ranked[:2]) == DROUGHT_YEARS
        assert sum(days == 0 for days in stress.values()) >= 10
        by_year = {year.year: year for year in bed.years}
        for drought in DROUGHT_YEARS:
            assert stress[drought] > 0.6 * by_year[drought].growing_days
            met = by_year[drought].met_by
            assert met is not None
            assert met.unmet > 0.6
        usual = by_year[2016].met_by
        assert usual is not None
        assert usual.tanks > 0.6, "dry summers: the tanks carry the garden"
        assert usual.unmet == pytest.approx(0.0, abs=1e-9)


def test_the_demo_says_that_its_weather_is_invented(demo: tuple[Ledger, Scores]) -> None:
    assert demo[0].record.provenance.licence == "invented for this example"
    assert demo[0].data["et0"].attrs["source"] == "Hargreaves (FAO-56 eq. 52): 10,958 days"
    text = (SCENARIOS / "larkfield.toml").read_text(encoding="utf-8")
    assert "The place and its weather are invented." in text


def test_the_demo_s_pad_out_of_level_strands_its_height(demo: tuple[Ledger, Scores]) -> None:
    """4 in of a tank 120 in across: pi/4 x 120^2 x 4 / 231 = 195.8 gal."""
    stranded = demo[0].data["stranded_top"]
    assert float(stranded.sel(tank="upper")) == pytest.approx(195.84 * 3.785412, rel=1e-4)
    assert float(stranded.sel(tank="lower")) == 0


def test_every_what_if_of_the_demo_saves_dry_days(demo: tuple[Ledger, Scores]) -> None:
    names = load(SCENARIOS / "larkfield.toml").scenario.variant
    assert len(names) >= 3
    for name in names:
        assert run(SCENARIOS / "larkfield.toml", name)[1].dry_days.total < 0.7 * demo[1].dry_days.total, name


def test_seattle_closes_and_its_worst_summer_is_the_rainless_one(tmp_path: Path) -> None:
    """The record's longest stretch without rain, 23 Jul to 8 Sep 2012, as the press reported it."""
    (tmp_path / "seattle.toml").write_bytes((SCENARIOS / "seattle.toml").read_bytes())
    (tmp_path / "seattle-weather.csv").write_bytes(script("get_seattle_weather").packaged_file().read_bytes())
    ledger, scores = run(tmp_path / "seattle.toml")
    rain = ledger.data["rain"].sel(time=slice("2012-07-22", "2012-09-09")).values
    assert rain[0] > 0
    assert rain[1:-1].sum() == 0
    assert rain[-1] > 0
    assert scores.balance_error < 1e-9
    longest = scores.longest_dry_spell
    assert longest is not None
    assert dt.date(2012, 7, 23) < longest.first < dt.date(2012, 9, 8)


def test_the_seattle_script_copies_the_packaged_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    getter = script("get_seattle_weather")
    monkeypatch.setattr(getter, "FILE", tmp_path / "seattle-weather.csv")
    assert getter.main() == 0
    assert "observed" in capsys.readouterr().out
    lines = (tmp_path / "seattle-weather.csv").read_text(encoding="utf-8").split()
    assert lines[0] == "date,precipitation,temp_max,temp_min,wind,weather"
    assert len(lines) == 1 + 1461


def test_without_the_package_the_seattle_script_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    getter = script("get_seattle_weather")
    monkeypatch.setattr(getter, "FILE", tmp_path / "seattle-weather.csv")
    monkeypatch.setattr(getter, "packaged_file", lambda: tmp_path / "absent.csv")
    assert getter.main() == 3
    assert "pip install vega_datasets==0.9.0" in capsys.readouterr().err
    assert not (tmp_path / "seattle-weather.csv").exists()
