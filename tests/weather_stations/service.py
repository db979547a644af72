"""A weather service on the loopback interface, with invented stations and every fault a network has.

It answers `/stations.db` and `/daily/{year}/{station}.csv.gz` in the form the meteostat library reads.
Stations, places and weather are invented.
"""

from __future__ import annotations

import csv
import datetime as dt
import gzip
import io
import random
import sqlite3
import tempfile
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

THIS_YEAR = dt.date.today().year
PARAMETERS = ("temp", "tmin", "tmax", "prcp", "snwd")
LONGEST_HANG = 20.0


@dataclass(frozen=True)
class Invented:
    """A station that does not exist."""

    id: str
    name: str
    latitude: float
    longitude: float
    elevation: int
    years: range
    rain: bool = True


DRY_GULCH = Invented("X0001", "Dry Gulch (invented)", 38.41, -109.13, 1570, range(2010, 2015))
MILL_CREEK = Invented("X0002", "Mill Creek (invented)", 38.55, -109.40, 1820, range(2011, 2015))
WINDY_TOP = Invented("X0003", "Windy Top (invented)", 38.45, -109.25, 2900, range(2000, 2015), rain=False)
STILL_RUNNING = Invented(
    "X0004", "Long Acre (invented)", 38.90, -109.20, 1500, range(THIS_YEAR - 3, THIS_YEAR + 1)
)
STATIONS = (DRY_GULCH, MILL_CREEK, WINDY_TOP, STILL_RUNNING)


@dataclass
class Service:
    """What the service does; tests change it while it runs.

    `faults` holds for a path ("/stations.db", "/daily/2012/X0001.csv.gz") or "" for all others: a
    status, "hang", "garbage", "cut" (gzip cut short), "half" (connection closed half way), "slow".
    `shapes` holds for a path: "twice", "no-source", "blank-source", "words", "fewer".
    """

    faults: dict[str, int | str] = field(default_factory=dict)
    shapes: dict[str, str] = field(default_factory=dict)
    asked: list[str] = field(default_factory=list)
    inventory: bool = True
    whole: float = 100.0
    today: dt.date = field(default_factory=dt.date.today)
    stop: threading.Event = field(default_factory=threading.Event)
    address: str = ""

    def environment(self, home: Path) -> dict[str, str]:
        """Environment that leads the library here and everything it writes into `home`."""
        return {
            "MS_DAILY_ENDPOINT": self.address + "/daily/{year}/{station}.csv.gz",
            "MS_STATIONS_DB_ENDPOINTS": f'["{self.address}/stations.db"]',
            "MS_CACHE_DIRECTORY": str(home / "library-cache"),
            "MS_STATIONS_DB_FILE": str(home / "library-stations.db"),
            "HOME": str(home),
            "HOLDWATER_STORE": str(home / "store"),
            "NO_PROXY": "127.0.0.1",
            "no_proxy": "127.0.0.1",
        }

    def asked_years(self) -> list[int]:
        """Years asked for so far, in order."""
        return [int(path.split("/")[2]) for path in self.asked if path.startswith("/daily/")]

    def body(self, path: str) -> bytes | None:
        """What a path holds, or None."""
        if path == "/stations.db":
            return station_list(self.inventory, self.whole)
        parts = path.strip("/").split("/")
        if len(parts) != 3 or parts[0] != "daily" or not parts[2].endswith(".csv.gz"):
            return None
        station = next((s for s in STATIONS if s.id == parts[2][:5]), None)
        if station is None or int(parts[1]) not in station.years:
            return None
        return year_file(station, int(parts[1]), self.shapes.get(path, ""), self.today)


def year_rows(station: Invented, year: int) -> dict[dt.date, float]:
    """Invented rain of a year [mm], the same at every call."""
    chance = random.Random(f"{station.id} {year}")
    first = dt.date(year, 1, 1)
    days = (dt.date(year + 1, 1, 1) - first).days
    return {
        first + dt.timedelta(d): 0.0 if chance.random() < 0.75 else round(chance.expovariate(1 / 9), 1)
        for d in range(days)
    }


def year_file(station: Invented, year: int, shape: str = "", today: dt.date | None = None) -> bytes:
    """A year as the service packs it.

    In 2013 rain is blank on 3 March and the row of 4 March is absent; in 2012 30 December is partly,
    31 December wholly from a forecast model. Other years are complete. The current year ends yesterday.
    """
    text = io.StringIO()
    out = csv.writer(text, lineterminator="\n")
    sourced = shape != "no-source"
    out.writerow(
        ["year", "month", "day", *(n for p in PARAMETERS for n in ([p, f"{p}_source"] if sourced else [p]))]
    )
    for day, rain in year_rows(station, year).items():
        if today is not None and day >= today:
            break
        if (year, day.month, day.day) == (2013, 3, 4):
            continue
        if shape == "fewer" and day.month > 6:
            break
        row: list[object] = [day.year, day.month, day.day]
        for parameter in PARAMETERS:
            value, source = _cell(station, day, rain, parameter)
            if parameter == "prcp" and shape == "blank-source" and day.month == 6:
                source = ""
            if parameter == "prcp" and shape == "words" and day.month == 6:
                value = "lots"
            row += [value, source] if sourced else [value]
        out.writerow(row)
        if shape == "twice" and (day.month, day.day) == (7, 1):
            out.writerow(row)
    return gzip.compress(text.getvalue().encode(), mtime=0)


def _cell(station: Invented, day: dt.date, rain: float, parameter: str) -> tuple[object, str]:
    warmth = 10.0 - abs(day.month - 7) * 3.0
    values: dict[str, object] = {"temp": warmth, "tmin": warmth - 6.0, "tmax": warmth + 7.5}
    if station.rain:
        values["prcp"] = rain
    if parameter not in values or (parameter == "prcp" and (day.year, day.month, day.day) == (2013, 3, 3)):
        return "", ""
    source = "ghcnd"
    if parameter == "prcp" and day.year == 2012 and day.month == 12:
        source = {30: "isd_lite dwd_mosmix", 31: "metno_forecast"}.get(day.day, source)
    if parameter == "prcp" and day.year == 2014 and (day.month, day.day) == (2, 2):
        source = "somebody_new"
    return values[parameter], source


def station_list(inventory: bool = True, whole: float = 100.0) -> bytes:
    """The list of stations as SQLite; `whole` is the completeness of a record without a gap."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "stations.db")
        with closing(sqlite3.connect(path)) as db, db:
            db.executescript(
                "CREATE TABLE stations (id char(5) PRIMARY KEY, country varchar(2), region varchar(5), latitude"
                " float, longitude float, elevation int, timezone varchar(30));"
                "CREATE TABLE names (station char(5), language char(2), name varchar(255));"
                "CREATE TABLE identifiers (station char(5), key varchar(255), value varchar(255));"
            )
            if inventory:
                db.execute(
                    "CREATE TABLE inventory (station char(5), provider varchar(32), parameter varchar(8),"
                    " start date, end date, completeness float)"
                )
            for s in STATIONS:
                place = (s.latitude, s.longitude, s.elevation, "America/Denver")
                db.execute("INSERT INTO stations VALUES (?,?,?,?,?,?,?)", (s.id, "US", "UT", *place))
                db.execute("INSERT INTO names VALUES (?,?,?)", (s.id, "en", s.name))
                last = min(dt.date(s.years[-1], 12, 31), dt.date.today() - dt.timedelta(2))
                for parameter in ("tmin", "prcp") if s.rain else ("tmin",):
                    row = (s.id, "daily", parameter, f"{s.years[0]}-01-01", str(last), 0.975 * whole)
                    if inventory:
                        db.execute("INSERT INTO inventory VALUES (?,?,?,?,?,?)", row)
        return path.read_bytes()


class _Handler(BaseHTTPRequestHandler):
    service: Service
    timeout = LONGEST_HANG

    def log_message(self, *_: object) -> None:
        """Say nothing."""

    def do_GET(self) -> None:
        """Answer, unless the asker is gone."""
        with suppress(OSError):
            self._answer()

    def _answer(self) -> None:
        service = self.service
        service.asked.append(self.path)
        fault = service.faults.get(self.path, service.faults.get("", 0))
        body = service.body(self.path)
        if fault == "hang":
            service.stop.wait(LONGEST_HANG)
            return
        if fault == "slow":
            service.stop.wait(0.4)
        if isinstance(fault, int) and fault:
            self._send(fault, b"no")
        elif body is None:
            self._send(404, b"not found")
        elif fault == "garbage":
            self._send(200, b"<html><body>Please log in to the network</body></html>")
        elif fault == "cut":
            self._send(200, body[: len(body) // 2])
        elif fault == "half":
            self._send(200, body[: len(body) // 2], promised=len(body))
        else:
            self._send(200, body)

    def _send(self, status: int, body: bytes, promised: int | None = None) -> None:
        self.send_response(status)
        self.send_header("Content-Length", str(len(body) if promised is None else promised))
        self.end_headers()
        self.wfile.write(body)
        self.close_connection = True


@contextmanager
def running() -> Iterator[Service]:
    """Run the service on a free port of 127.0.0.1."""
    service = Service()
    handler = type("Handler", (_Handler,), {"service": service})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    service.address = f"http://127.0.0.1:{server.server_address[1]}"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield service
    finally:
        service.stop.set()
        server.shutdown()
        server.server_close()
        thread.join(5)
