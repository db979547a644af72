"""The tables that ship with the checks: every row whole, positive, and with its source."""

from __future__ import annotations

import math
from importlib.resources import files

import pytest

from holdwater import units
from holdwater.errors import InputError
from holdwater.site import pipes
from holdwater.site.pipes import Pipe
from holdwater.site.tables import read_table

TABLES = sorted(
    f.name for f in files("holdwater.site").joinpath("tables").iterdir() if f.name.endswith(".csv")
)
WORDS = {"pipe", "size", "fitting", "soil", "source"}


def test_all_tables_are_here() -> None:
    assert TABLES == [
        "bearing.csv",
        "fittings.csv",
        "leaders.csv",
        "movement.csv",
        "pipes.csv",
        "suction_lift.csv",
    ]


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_a_source_and_numbers(name: str) -> None:
    rows = read_table(name)
    assert rows
    for row in rows:
        assert len(row["source"]) > 10, row
        assert None not in row, "a comma too many"
        for key, text in row.items():
            if key not in WORDS and text:
                assert float(text) >= 0.0
                assert math.isfinite(float(text))


def test_no_row_is_there_twice() -> None:
    for name, keys in (("pipes.csv", ("pipe", "size")), ("fittings.csv", ("fitting", "size"))):
        found = [tuple(row[key] for key in keys) for row in read_table(name)]
        assert len(found) == len(set(found))


def test_pipes_are_narrower_the_thicker_their_wall() -> None:
    for (kind, size), thin in pipes.pipes().items():
        if kind == "PVC schedule 40":
            assert pipes.pipes()["PVC schedule 80", size].inside < thin.inside


def test_every_pipe_moves_with_warmth_and_every_fitting_fits_any_size() -> None:
    assert {kind for kind, _ in pipes.pipes()} == {row["pipe"] for row in read_table("movement.csv")}
    for fitting in {row["fitting"] for row in read_table("fittings.csv")}:
        assert pipes.equivalent_length(fitting, Pipe("", "", 20.0)) > 0.0


def test_sizes_are_sizes() -> None:
    for (_, size), bore in pipes.pipes().items():
        assert 0.6 < bore.inside / units.read(size, "height") < 1.4
        assert bore.bore == pytest.approx(math.pi / 4 * bore.inside**2)


@pytest.mark.parametrize("text", ["1 1/2 in", "1-1/2 in", "1.5 in", "38.1 mm", '1 1/2"'])
def test_a_size_is_found_however_it_is_written(text: str) -> None:
    assert pipes.pipe("pvc Schedule 40", text).size == "1 1/2 in"


def test_unknown_pipes_and_fittings_are_told() -> None:
    with pytest.raises(
        InputError, match="pipe 'PVC schedule 4' is not in the table; did you mean 'PVC schedule 40'"
    ):
        pipes.pipe("PVC schedule 4", "2 in")
    with pytest.raises(InputError, match="pipe 'bamboo' is not in the table; there are PE, PE100 SDR 11"):
        pipes.pipe("bamboo", "2 in")
    with pytest.raises(
        InputError, match="PE pipe: size '5 in' is not in the table; there are 1/2 in, 3/4 in"
    ):
        pipes.pipe("PE", "5 in")
    with pytest.raises(InputError, match="fitting '90 elbo' is not in the table; did you mean '90 elbow'"):
        pipes.equivalent_length("90 elbo", Pipe("", "", 20.0))
    assert pipes.movement_of("bamboo") is None
