"""The page over HTTP: who is served, who is refused, and that faults come back as plain words."""

from __future__ import annotations

import json
import socket
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from holdwater.errors import InputError
from holdwater.page.asked import Asked
from holdwater.page.desk import Desk
from holdwater.page.guard import LARGEST_BODY
from holdwater.page.server import STATIC, listening
from tests.page.holding import Page, served, write

OWN = ("/opening", "/afresh", "/answer", "/save", "/plan")


def test_the_address_printed_opens_the_page_and_gives_the_cookie(page: Page) -> None:
    got = page.ask(f"/?token={page.token}", token=False)
    assert got.status == 200
    assert b"<title>holdwater</title>" in got.body
    assert (
        got.headers["set-cookie"] == f"holdwater-{page.port}={page.token}; HttpOnly; SameSite=Strict; Path=/"
    )
    assert "set-cookie" not in page.ask("/").headers


@pytest.mark.parametrize("path", [*STATIC, *OWN, "/nowhere"])
def test_without_the_token_nothing_is_served(page: Page, path: str) -> None:
    body: dict[str, Any] | None = {} if path in OWN else None
    for wrong in ("", "x", page.token[:-1], page.token + "x", page.token.swapcase()):
        got = page.ask(
            path, body, token=False, Cookie=f"holdwater-{page.port}={wrong}", X_Holdwater_Token=wrong
        )
        assert got.status == 403, wrong
        assert b"with its token" in got.body or b"its token included" in got.body
        assert page.token.encode() not in got.body
    assert page.ask(path, body, token=False).status == 403
    assert page.ask(f"{path}?token={page.token[:-1]}x", body, token=False).status == 403


def test_the_token_in_the_address_opens_the_page_only(page: Page) -> None:
    assert page.ask(f"/answer?token={page.token}", {}, token=False).status == 403
    assert page.ask(f"/page.js?token={page.token}", token=False).status == 403


@pytest.mark.parametrize("path", ["/", "/page.js", "/answer", "/save"])
@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:{port}", "127.0.0.1", "127.0.0.1:1", "127.0.0.1.evil.example:{port}", ""],
)
def test_a_foreign_name_that_leads_here_is_refused(page: Page, path: str, host: str) -> None:
    body: dict[str, Any] | None = {} if path in OWN else None
    assert page.ask(path, body, Host=host.format(port=page.port)).status in (400, 403)


def test_localhost_is_this_machine_too(page: Page) -> None:
    assert page.ask("/", Host=f"localhost:{page.port}").status == 200


@pytest.mark.parametrize(
    "origin",
    ["https://evil.example", "http://127.0.0.1", "http://127.0.0.1:1", "null", "https://127.0.0.1:{port}"],
)
@pytest.mark.parametrize("path", ["/answer", "/save", "/plan", "/"])
def test_a_foreign_origin_is_refused(page: Page, path: str, origin: str) -> None:
    before = page.desk.path.read_bytes()
    body = {"name": "x", "values": {"roof.barn.area": 1000}} if path in OWN else None
    got = page.ask(path, body, Origin=origin.format(port=page.port))
    assert got.status == 403
    assert b"another page asked" in got.body
    assert page.desk.path.read_bytes() == before


def test_its_own_origin_is_served(page: Page) -> None:
    assert (
        page.ask("/answer", {}, Origin=f"http://127.0.0.1:{page.port}", Sec_Fetch_Site="same-origin").status
        == 200
    )


def test_what_a_browser_says_another_site_sent_is_refused(page: Page) -> None:
    for site in ("cross-site", "same-site"):
        assert page.ask("/answer", {}, Sec_Fetch_Site=site).status == 403
        assert page.ask("/page.js", Sec_Fetch_Site=site).status == 403


@pytest.mark.parametrize("path", ["/", "/page.js", "/page.css", "/answer", "/nowhere"])
def test_every_answer_carries_the_policy(page: Page, path: str) -> None:
    for got in (page.ask(path, {} if path == "/answer" else None), page.ask(path, token=False)):
        policy = got.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "http" not in policy
        assert got.headers["x-content-type-options"] == "nosniff"
        assert got.headers["cache-control"] == "no-store"
        assert "server" not in got.headers


def test_the_page_has_no_script_of_its_own_in_it(page: Page) -> None:
    text = page.ask("/").body.decode()
    assert text.count("<script") == text.count('<script src="/') == 3
    assert " on" not in text.replace(" on this", "").split("<main>")[0].replace(" one", "")
    assert "style=" not in text
    assert "http" not in text.replace("http-equiv", "")


@pytest.mark.parametrize(
    "path",
    [
        "/../pyproject.toml",
        "/%2e%2e/holding.toml",
        "/static/page.js",
        "/holding.toml",
        "/weather.csv",
        "//etc/passwd",
    ],
)
def test_no_other_file_is_served(page: Page, path: str) -> None:
    assert page.ask(path).status == 404


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"])
def test_other_methods_are_refused(page: Page, method: str) -> None:
    assert page.ask("/answer", method=method).status == 405


def test_only_json_of_a_modest_size_is_taken(page: Page) -> None:
    assert page.ask("/answer", raw=b"{}", Content_Type="text/plain").status == 415
    assert page.ask("/answer", raw=b"{}", Content_Type="application/x-www-form-urlencoded").status == 415
    assert page.ask("/answer", raw=b" " * LARGEST_BODY + b"{}").status == 413
    assert page.ask("/" + "x" * 3000).status == 414


def test_a_body_without_a_length_is_cut_off(page: Page) -> None:
    chunk = b"%x\r\n" % 20_000 + b" " * 20_000 + b"\r\n"
    with socket.create_connection(("127.0.0.1", page.port), timeout=20) as link:
        head = (
            f"POST /answer HTTP/1.1\r\nHost: 127.0.0.1:{page.port}\r\nContent-Type: application/json\r\n"
            f"X-Holdwater-Token: {page.token}\r\nTransfer-Encoding: chunked\r\n\r\n"
        )
        link.sendall(head.encode() + chunk * 4 + b"0\r\n\r\n")
        assert link.recv(100).startswith(b"HTTP/1.1 413")


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"{",
        b'{"values": {"a": NaN}}',
        b'{"values": {"a": "x"}}',
        b'{"unknown": 1}',
        b'{"prices": {"roof.barn.area": -1}}',
        b'{"rule": "XYZ"}',
        b'{"first": "2001-13-01"}',
        b"[" * 5000,
        b'{"window": ["2001-01-01"]}',
        b"\xff\xfe",
    ],
)
def test_what_no_page_of_ours_asks_is_told_plainly(page: Page, body: bytes) -> None:
    got = page.ask("/answer", raw=body)
    assert got.status == 400
    assert got.json == {
        "faults": ["the page asked for something this holdwater does not know; reload the page"]
    }


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ({"values": {"roof.barn.area": -1}}, "an amount from 0"),
        ({"values": {"weather.file": 3}}, "reload the page"),
        ({"values": {"reserve.volume": 99_999}}, "reserve: volume = 99,999 gal is not below"),
        (
            {"values": {"roof.barn.runoff_coefficient": 101}},
            "barn roof, runoff: an amount from 0 to 100 % is needed",
        ),
        ({"first": "2003-01-01", "last": "2002-01-01"}, "before it begins"),
        ({"first": "1950-01-01"}, "the weather covers"),
        ({"variant": "no such"}, "there is no variant 'no such'"),
    ],
)
def test_faults_of_a_design_come_back_in_plain_words(page: Page, body: Any, told: str) -> None:
    got = page.ask("/answer", body)
    assert got.status == 422
    assert any(told in fault for fault in got.json["faults"]), got.json
    assert b"Traceback" not in got.body


def test_a_fault_of_ours_does_not_end_the_server(
    page: Page, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def broken(asked: Asked) -> None:
        raise ZeroDivisionError("secret detail")

    with monkeypatch.context() as patch:
        patch.setattr(page.desk, "answer", broken)
        got = page.ask("/answer", {})
    assert got.status == 500
    assert "a fault of holdwater, not yours: ZeroDivisionError" in got.json["faults"][0]
    assert "secret" not in got.body.decode()
    assert "secret detail" in capfd.readouterr().err
    assert page.ask("/answer", {}).status == 200


def test_dials_change_the_answer(page: Page) -> None:
    opening = page.ask("/opening", {}).json
    same = page.ask("/answer", {"values": {dial["path"]: dial["value"] for dial in opening["dials"]}}).json
    plain = page.ask("/answer", {}).json
    assert same == plain
    assert plain["numbers"] == opening["numbers"]
    more = page.ask("/answer", {"values": {"roof.barn.area": 2500, "draw.house.people": 1}}).json
    less = page.ask("/answer", {"values": {"roof.barn.area": 100, "draw.house.people": 4}}).json
    assert (
        more["numbers"]["dry_days"]["value"]
        < plain["numbers"]["dry_days"]["value"]
        < less["numbers"]["dry_days"]["value"]
    )
    assert less["verdict"] != plain["verdict"]
    assert page.ask("/answer", {"rule": "YBS"}).json["numbers"] != plain["numbers"]


def test_the_period_can_be_changed_within_the_weather(page: Page) -> None:
    opening = page.ask("/opening", {"first": "2000-07-01", "last": "2004-06-30"}).json
    assert opening["period"] == ["2000-07-01", "2004-06-30"]
    assert opening["reach"] == ["2000-07-01", "2004-06-30"]
    got = page.ask("/answer", {"first": "2002-01-01", "last": "2002-12-31"}).json
    assert [row[0] for row in got["years"]] == [2002]
    assert got["curve"]["days"] == 365


def test_metric_units_on_request(page: Page) -> None:
    desk = Desk(page.desk.path, "metric", compiles=False)
    dial = desk.opening(Asked())["dials"][0]
    assert (dial["unit"], dial["value"]) == ("m2", pytest.approx(900 * 0.09290304, rel=1e-3))
    assert desk.answer(Asked())["curve"]["unit"] == "m3"
    plain = page.ask("/answer", {}).json["numbers"]["dry_days"]
    assert desk.answer(Asked())["numbers"]["dry_days"] == plain


def test_many_ask_at_once(page: Page) -> None:
    alone = [page.ask("/answer", {"values": {"roof.barn.area": 300 * k}}).json for k in range(1, 7)]
    with ThreadPoolExecutor(6) as pool:
        asked = [
            pool.submit(page.ask, "/answer", {"values": {"roof.barn.area": 300 * k}}) for k in range(1, 7)
        ]
        assert [each.result().json for each in asked] == alone


def test_the_plan_comes_as_a_file_to_keep(page: Page) -> None:
    got = page.ask("/plan", {"values": {"roof.barn.area": 1234}})
    assert got.status == 200
    assert got.headers["content-disposition"] == 'attachment; filename="plan.html"'
    text = got.body.decode()
    assert text.lower().startswith("<!doctype html>")
    assert "roof.barn.area=1234 ft2" in text


HOSTILE = "<script>alert(1)</script>\"'&\u05d0\u05d1 " + "x" * 150


def test_hostile_text_goes_out_as_json_only(tmp_path: Path) -> None:
    with served(write(tmp_path, HOSTILE)) as running:
        got = running.ask("/opening", {})
        assert got.headers["content-type"] == "application/json"
        assert got.json["title"] == HOSTILE
        for path in STATIC:
            assert b"alert(1)" not in running.ask(path).body


def test_a_saved_variant_is_written_and_offered(tmp_path: Path) -> None:
    with served(write(tmp_path)) as running:
        got = running.ask("/save", {"name": "<b>mine</b>", "values": {"roof.barn.area": 1000}})
        assert got.json == {
            "saved": "<b>mine</b>",
            "file": "holding.toml",
            "cost": None,
            "variants": ["more roof", "<b>mine</b>"],
            "command": "holdwater run holding.toml --variant '<b>mine</b>'",
            "edited": False,
        }
        assert "<b>mine</b>" in running.ask("/afresh", {}).json["variants"]
        again = running.ask("/save", {"name": "<b>mine</b>", "values": {"roof.barn.area": 1000}})
        assert again.status == 422
        assert "already a variant" in again.json["faults"][0]
        assert sorted(p.name for p in tmp_path.iterdir()) == ["holding.toml", "weather.csv"]


def test_a_port_that_is_taken_is_told(page: Page) -> None:
    with pytest.raises(InputError, match=f"--port {page.port}: it cannot be used"):
        listening(page.port)


def test_it_listens_on_this_machine_alone() -> None:
    with listening(0) as held:
        assert held.getsockname()[0] == "127.0.0.1"


def test_answers_are_json_that_every_browser_reads(page: Page) -> None:
    text = page.ask("/answer", {}).body.decode()
    assert "NaN" not in text
    assert "Infinity" not in text
    json.loads(text)
