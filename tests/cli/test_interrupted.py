"""Ctrl-C that a library turns into something else is still Ctrl-C."""

from __future__ import annotations

import os
import signal
import sys

import pytest

import holdwater.cli.app
from holdwater.cli import main

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")


@pytest.mark.parametrize("raised", [RuntimeError("the compiler gave up"), SystemExit(1)])
def test_what_a_library_makes_of_ctrl_c_is_told_as_ctrl_c(
    raised: BaseException, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def app(**_: object) -> None:
        try:
            os.kill(os.getpid(), signal.SIGINT)
        except KeyboardInterrupt:
            raise raised from None

    before = signal.getsignal(signal.SIGINT)
    monkeypatch.setattr(holdwater.cli.app, "app", app)
    monkeypatch.setattr(sys, "argv", ["holdwater", "run", "any.toml"])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 130
    assert capsys.readouterr().err == "holdwater: stopped; what was there before is untouched\n"
    assert signal.getsignal(signal.SIGINT) is before
