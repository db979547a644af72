"""Throw damaged and invented weather files at the readers; none may end in a traceback or a hang.

    python tests/fuzz_readers.py --inputs 200000 [--seed 1] [--keep FOLDER]

Every input is a small invented file of one of the formats, damaged at random (bytes, lines, cells,
splices of two files, truncation, gzip), read with random keys through the same door as a user's file.
NetCDF-4 is only truncated: a byte changed inside can send the HDF5 library itself into an endless
loop, which no check in Python can stop. Classic netCDF is damaged like the rest.
Allowed is a record, an inspection, or an `InputError`; anything else, a warning too, is a failure.
The failing inputs are kept for a look.
"""

from __future__ import annotations

import argparse
import faulthandler
import gzip
import random
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
import xarray as xr

from holdwater.errors import InputError
from holdwater.scenario.schema import Place, Weather
from holdwater.weather import read_weather
from holdwater.weather.inspection import inspect
from tests.weather import test_ghcn, test_national_tables, test_noaa_tables
from tests.weather.files import days_from, plausible_rain, table

SECONDS = 20
HOME = Place(latitude=38.4, longitude=-109.2)
WORDS = (
    "", "0", "-1", "T", "tr", "M", "NA", "-9999", "9999", "999.9", "<0.2", "1,5", "1.5", "1e5", "1e999", "nan", "inf",
    "2012-02-30", "2012-01-01", "31/12/2012", "12/31/2012", "1/2/2012", "20120101", "1.1.12", "Jan 5, 2012", "40909",
    "date", "rain", "rain_mm", "rain_in", "tmin_c", "tmax (F)", "Year", "Month", "Day", "PRCP", "STATION", "DATE", "#",
    '"', '""', ",", ";", "\t", "|", "\n", "\r\n", "\x00", "\ufeff", "é", "日本", "٣", "½", "−5", " ", "9" * 20,
    "0000-00-00", "9999-99-99", "-", "--", "+", ".", "1.2.3", "0x10", "1_000", "A", "C", "L", "P", "S", "MDPR", "DAPR",
)  # fmt: skip


def netcdf(engine: Any) -> bytes:
    """A small invented grid."""
    rain = np.arange(20.0)[:, None, None] % 3 * np.ones((20, 2, 2))
    data = xr.Dataset(
        {"pr": (("time", "lat", "lon"), rain, {"units": "mm/day"})},
        coords={
            "time": ("time", np.arange(20.0), {"units": "days since 2001-01-01", "calendar": "noleap"}),
            "lat": ("lat", [38.0, 39.0], {"standard_name": "latitude"}),
            "lon": ("lon", [250.0, 251.0], {"standard_name": "longitude"}),
        },
    )
    with tempfile.TemporaryDirectory() as folder:
        data.to_netcdf(Path(folder) / "a.nc", engine=engine)
        return (Path(folder) / "a.nc").read_bytes()


def seeds() -> list[bytes]:
    """One or more small files of every text format."""
    days, rain = days_from("2011-11-20", 60), plausible_rain(60)
    rows = list(zip(days, rain, strict=True))
    texts = [
        table("date,rain_mm", rows),
        table("# invented\ndate;rain_in;t_min_f;t_max_f", [f"{d};{r / 25:.2f};30;50" for d, r in rows]),
        table("Date\tRain (mm)", [f"{d:%d.%m.%Y}\t{str(r).replace('.', ',')}" for d, r in rows]),
        table('"day","prcp [in]","note"', [f'"{d:%m/%d/%Y}","{r / 25:.2f}","a, b"' for d, r in rows]),
        table("Year,Month,Day,rain_mm", [f"{d.year},{d.month},{d.day},{r}" for d, r in rows]),
        table("date rain_mm", [f"{d}  {r}" for d, r in rows]),
        table("time,rain_mm", [f"{d} 07:00,{r}\n{d} 19:00,T" for d, r in rows[:20]]),
        test_ghcn.april(**test_ghcn.WITH_TOTAL),
        test_ghcn.LONG,
        test_noaa_tables.SUMMARIES,
        test_noaa_tables.order(test_noaa_tables.INCHES),
        test_national_tables.AU,
        test_national_tables.CA,
        "# holdwater daily weather record\n# licence: none\n"
        + table(
            "date,rain_mm,t_min_c,t_max_c,et0_mm,origin", [f"{d},{r},1.0,9.5,2,observed" for d, r in rows]
        ),
    ]
    return [text.encode() for text in texts]


def damage(chance: random.Random, raw: bytes, others: list[bytes]) -> bytes:
    """One to six random damages."""
    data = bytearray(raw)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        at = chance.randrange(len(data) + 1)
        kind = chance.choice((0, 1, 2, 3, 3, 3, 4, 5, 6, 7, 8, 9, 9, 9))
        if kind == 0 and data:
            data[at % len(data)] = chance.randrange(256)
        elif kind == 1:
            data[at : at + chance.choice((1, 2, 5, 40, 400))] = b""
        elif kind == 2:
            data[at:at] = chance.choice(WORDS).encode("utf-8", "surrogatepass")
        elif kind == 3:
            data = bytearray(cell(chance, bytes(data)))
        elif kind == 4:
            other = chance.choice(others)
            data[at:] = other[chance.randrange(len(other)) :]
        elif kind == 5:
            lines = bytes(data).split(b"\n")
            chance.shuffle(lines)
            data = bytearray(b"\n".join(lines))
        elif kind == 6:
            piece = bytes(data[at : at + chance.choice((3, 30, 300))])
            data[at:at] = piece * chance.choice((1, 2, 20))
        elif kind == 7:
            data = bytearray(bytes(data).replace(*chance.choice(SWAPS)))
        elif kind == 8:
            data = data[:at]
        elif data:
            digits = [i for i, byte in enumerate(data[at : at + 200], at) if 48 <= byte <= 57]
            if digits:
                data[chance.choice(digits)] = chance.randrange(48, 58)
    return bytes(data)


SWAPS = (
    (b",", b";"), (b".", b","), (b"-", b"/"), (b"20", b"19"), (b"2011", b"0011"), (b"_mm", b""), (b'"', b""),
    (b"\n", b"\r"), (b"\n", b"\n\n"), (b"0", b"T"), (b"1", b"9"), (b"rain", b"wet"), (b"date", b"day"), (b" ", b""),
)  # fmt: skip


def cell(chance: random.Random, raw: bytes) -> bytes:
    """Put another word into one cell."""
    lines = raw.split(b"\n")
    row = chance.randrange(len(lines))
    fields = lines[row].split(b",")
    fields[chance.randrange(len(fields))] = chance.choice(WORDS).encode()
    lines[row] = b",".join(fields)
    return b"\n".join(lines)


def keys(chance: random.Random) -> dict[str, Any]:
    """Keys of a scenario, mostly few."""
    choices: dict[str, tuple[Any, ...]] = {
        "rain_unit": ("mm", "in", "tenths of mm"),
        "temperature_unit": ("degC", "degF", "tenths of degC"),
        "rain_column": ("rain", "rain_mm", "PRCP", "x"),
        "date_column": ("date", "day", "DATE"),
        "dates": ("ymd", "mdy", "dmy"),
        "decimal": (".", ","),
        "separator": (",", ";", "tab", " ", "space", "é", "xx", '"'),
        "encoding": (
            "latin-1",
            "utf-16",
            "cp1252",
            "ascii",
            "none",
            "utf-8",
            "utf-7",
            "idna",
            "rot13",
            "hex",
        ),
        "missing_marks": (["0"], ["x", "-1"], [""]),
        "same_day": ("add", "last"),
        "readings": ("cumulative",),
        "absent_days": ("dry",),
        "missing_days": ("zero", "climate", "neighbour"),
        "accept": (
            ["negative", "above-record", "cumulative", "temperature-order", "tenths", "inches", "not-inches"],
        ),
        "station": ("ZZC00000001", "000123", "ä"),
        "format": (
            "csv",
            "ghcn-dly",
            "ghcn-csv",
            "noaa-daily",
            "noaa-order",
            "australia",
            "canada",
            "netcdf",
        ),
    }
    often = chance.choice((0.0, 0.0, 0.0, 0.05, 0.15))
    chosen = {name: chance.choice(options) for name, options in choices.items() if chance.random() < often}
    return {"missing_days": "zero", **chosen} if chance.random() < 0.6 else chosen


def run(inputs: int, seed: int, keep: Path) -> int:
    """Throw the inputs and report; the number of failures."""
    chance = random.Random(seed)
    texts, modern, classic = seeds(), netcdf("h5netcdf"), netcdf("scipy")
    outcome: Counter[str] = Counter()
    begun = time.perf_counter()
    signal.signal(signal.SIGALRM, _hang)
    noise: list[str] = []
    sys.unraisablehook = lambda event: noise.append(repr(event.exc_value))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "input.csv"
        for number in range(inputs):
            if number % 200 == 7:
                raw = modern[: chance.randrange(len(modern))]
            elif number % 100 == 7:
                raw = damage(chance, classic, [classic])
            else:
                raw = damage(chance, chance.choice(texts), texts)
            if number % 20 == 3:
                raw = gzip.compress(raw, 1)
                raw = damage(chance, raw, texts) if chance.random() < 0.7 else raw
            path.write_bytes(raw)
            settings = keys(chance)
            signal.alarm(SECONDS)
            faulthandler.dump_traceback_later(3 * SECONDS, exit=True)
            try:
                outcome[_throw(path, settings, chance.random() < 0.5)] += 1
                assert not noise, f"noise on the way: {noise.pop()}"
            except Exception:
                outcome["failure"] += 1
                keep.mkdir(parents=True, exist_ok=True)
                (keep / f"{seed}-{number}.bin").write_bytes(raw)
                (keep / f"{seed}-{number}.txt").write_text(f"{settings}\n{traceback.format_exc()}")
                print(f"input {number}: {traceback.format_exc().splitlines()[-1]} (kept in {keep})")
            finally:
                signal.alarm(0)
                faulthandler.cancel_dump_traceback_later()
            if sys.stdout.isatty() and number % 500 == 0:
                print(f"\r{number:,} of {inputs:,}", end="")
    took = time.perf_counter() - begun
    print(
        f"\n{inputs:,} inputs in {took:.0f} s, seed {seed}: "
        + ", ".join(f"{k} {v:,}" for k, v in outcome.items())
    )
    return outcome["failure"]


def _throw(path: Path, settings: dict[str, Any], whole: bool) -> str:
    weather = Weather(file=path.name, **settings)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            if whole:
                record = read_weather(weather, path.parent, place=HOME)
                rain = record.column("rain")
                assert rain is not None
                assert (rain >= 0).all(), "a record with missing or negative rain"
                return "records"
            inspect(path, weather, HOME)
            return "inspections"
    except InputError as fault:
        sentences = fault.faults
    assert sentences, "a refusal without a word"
    assert all(len(sentence) < 3000 for sentence in sentences), "a message without end"
    return "refusals"


def _hang(signum: int, frame: object) -> None:
    raise TimeoutError(f"no answer within {SECONDS} s")


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--inputs", type=int, default=200_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "holdwater-fuzz")
    chosen = parser.parse_args()
    sys.exit(1 if run(chosen.inputs, chosen.seed, chosen.keep) else 0)


if __name__ == "__main__":
    main()
