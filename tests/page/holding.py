"""A small invented holding in a folder of its own, and its page served on this machine."""

from __future__ import annotations

import datetime as dt
import http.client
import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from holdwater.page.desk import Desk
from holdwater.page.server import application, listening, new_token, server

SCENARIO = """\
# Invented for a test.   This comment and the odd   spacing must stay.
title = TITLE
show_units = "us"
[place]
latitude = 40.0
longitude = -100.0
[weather]
file = "weather.csv"   # beside this file
[run]
from = 2001-01-01
to = 2003-12-31
[[roof]]
name = "barn"
area = "900 ft2"
surface = "metal"
first_flush = { depth = "0.02 in" }
feeds = "upper"
[[roof]]
name = "the long \\"north\\" shed. east"
area = "300 ft2"
surface = "metal"
feeds = "lower"
[[tank]]
name = "upper"
capacity = "1500 gal"
diameter = "90 in"
base = "3 in"
outlet = "2 in"
[[tank]]
name = "lower"
diameter = "90 in"
overflow = "60 in"
outlet = "2 in"
[[link]]
tanks = ["upper", "lower"]
closed = [ { from = 2002-02-01, to = 2002-03-15 } ]
[[draw]]
name = "house"
kind = "household"
people = 2
per_person = "18 gal/day"
[[draw]]
name = "beds"
kind = "garden"
area = "80 ft2"
crop = "tomato"
planted = "05-10"
soil = "sandy loam"
stops_below = "20 %"
[[draw]]
name = "wash"
kind = "fixed"
per_day = "3 gal/day"
[reserve]
volume = "60 gal"
[[backup]]
name = "hauler"
kind = "refill"
into = "lower"
starts_below = "4 %"
load = "500 gal"
cost_per_load = 90
lead_days = 5
[[backup]]
name = "well"
kind = "direct"
serves = ["wash"]
cost_per_volume = "20 per 1000 gal"
[variant."more roof"]
"roof.barn.area" = "1400 ft2"
"""

ODD = """\
# Invented for a test: odd shapes, odd names, and a price or two that is not given.
title = "Odd holding (invented)"
show_units = "metric"
[place]
latitude = 40.0
longitude = -100.0
[weather]
file = "weather.csv"
[run]
start_full = { "a.b" = 0.5, "c d" = 1.0 }
[[roof]]
name = "one"
area = "100 m2"
runoff_coefficient = 0.855
wetting_loss = "0.2 mm"
filter_efficiency = "95 %"
first_flush = { depth = 0 }
feeds = { "a.b" = 0.5, "c d" = 0.5 }
[[tank]]
name = "a.b"
levels = [
  { level = "0 cm", volume = "0 L" },
  { level = "50 cm", volume = "1234.5 L" },
  { level = "1 m", volume = "6007 L" },
]
overflow = "97 cm"
base = "-5 cm"
evaporation_factor = 1.0
[[tank]]
name = "c d"
capacity = "5 m3"
diameter = "2 m"
overflow = "1.59 m"
[[tank]]
name = "three"
diameter = "2 m"
overflow = "1.59 m"
[[link]]
tanks = ["three", "c d"]
[[transfer]]
name = "lift"
from_tank = "a.b"
to_tank = "c d"
starts_below = "300 L"
per_day = "100 L/day"
[[draw]]
name = "one"
kind = "household"
people = 2.5
fixtures = { toilet = 1, shower = 0.6 }
[[draw]]
name = "h \\"x\\""
kind = "livestock"
animals = { "doe, dry" = 8, "hen, laying" = 20.5 }
[[draw]]
name = "m"
kind = "fixed"
monthly = [0, 0, 0, "5 L/day", "20 L/day", "35 L/day", "45 L/day", "40 L/day", "20 L/day", "5 L/day", 0, 0]
stops_below = "400 L"
[[backup]]
name = "w"
kind = "refill"
into = "c d"
starts_below = "10 %"
fills_to = "500 L"
per_day = "80 L/day"
cost_per_volume = "3 per m3"
"""


def weather() -> str:
    """Four invented years: rain on every ninth day, none in most of the summer."""
    lines = ["date,rain [in],tmin [degF],tmax [degF]"]
    day = dt.date(2000, 7, 1)
    while day <= dt.date(2004, 6, 30):
        wet = day.toordinal() % 9 == 0 and day.month not in (7, 8)
        amount = 0.35 + 0.11 * (day.toordinal() % 7) if wet else 0.0
        warm = 45 if day.month in (11, 12, 1, 2, 3) else 70
        lines.append(f"{day},{amount:.2f},{warm - 13},{warm + 12}")
        day += dt.timedelta(days=1)
    return "\n".join(lines) + "\n"


def write(folder: Path, title: str = "Test holding (invented)") -> Path:
    """The scenario and its weather in a folder."""
    path = folder / "holding.toml"
    path.write_text(SCENARIO.replace("TITLE", json.dumps(title)), encoding="utf-8")
    (folder / "weather.csv").write_text(weather(), encoding="utf-8")
    return path


class Answer(NamedTuple):
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        """The body as JSON."""
        return json.loads(self.body)


class Page(NamedTuple):
    """A page being served."""

    port: int
    token: str
    desk: Desk

    @property
    def address(self) -> str:
        """Where a browser opens it."""
        return f"http://127.0.0.1:{self.port}/?token={self.token}"

    def ask(
        self,
        path: str,
        body: Any = None,
        *,
        token: bool = True,
        method: str | None = None,
        raw: bytes | None = None,
        **headers: str,
    ) -> Answer:
        """Send one request as its own page would, but for the headers given."""
        content = raw if raw is not None else None if body is None else json.dumps(body).encode()
        sent = {"Host": f"127.0.0.1:{self.port}"}
        if content is not None:
            sent["Content-Type"] = "application/json"
        if token:
            sent["Cookie"] = f"holdwater-{self.port}={self.token}"
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            link.request(method or ("GET" if content is None else "POST"), path, content, sent)
            got = link.getresponse()
            return Answer(got.status, {k.lower(): v for k, v in got.getheaders()}, got.read())
        finally:
            link.close()


@contextmanager
def served(path: Path) -> Iterator[Page]:
    """Serve the page of a scenario; it stops with the block."""
    desk, token = Desk(path, compiles=False), new_token()
    with listening(0) as held:
        port = held.getsockname()[1]
        running = server(application(desk, token, port))
        thread = threading.Thread(target=running.run, kwargs={"sockets": [held]}, daemon=True)
        thread.start()
        until = time.monotonic() + 10
        while not running.started:
            assert time.monotonic() < until
            assert thread.is_alive()
            time.sleep(0.01)
        try:
            yield Page(port, token, desk)
        finally:
            running.should_exit = True
            thread.join(10)
            assert not thread.is_alive()
